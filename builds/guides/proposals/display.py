"""Changes proposed for checks of a guide, as the page says them."""

from django.utils.translation import gettext as _

from builds.guides.circuit.model_comparison import as_written
from builds.guides.figures import model_limits
from builds.guides.proposals.existing import STOP, Change
from builds.ui.formatting import format_figure, limits_text
from checks.quantity import parse_quantity


def changes_by_stage(stages: list[dict], changes: tuple[Change, ...]) -> list[dict]:
    rows = []
    for stage in stages:
        lines = [_line(change) for change in changes if change.stage == stage["key"]]
        if lines:
            is_ticked = any(line["change"].is_sure for line in lines)
            rows.append({"stage": stage, "lines": lines, "is_ticked": is_ticked})
    return rows


def _line(change: Change) -> dict:
    low, high = model_limits(change.model, change.unit)
    line = {"change": change, "good": limits_text(low, high, change.unit), "remark": _remark(change)}
    return line | (_stop(change) if change.what == STOP else _figure(change, low, high))


def _stop(change: Change) -> dict:
    usual = "stop_below" if change.model["high"] < 0 else "stop_above"
    key = next(iter(change.then), usual)  # a grid that reads below zero is stopped above
    typed: str = change.row.get(key, "")
    side: float | None = getattr(change.now, key) if change.now else None
    now = as_written(typed, change.unit) if typed else "" if side is None else format_figure(side, change.unit)
    return {
        "what": _("Stop limit"),
        "now": _side(key, now),
        "now_from": _("from the parts’ ratings") if now and not typed else "",
        "then": _side(key, as_written(change.then[key], change.unit)) if change.then else "",
        "then_from": change.stop_of,
    }


def _side(key: str, figure: str) -> str:
    if not figure:
        return _("none")
    return (_("above %(figure)s") if key == "stop_above" else _("below %(figure)s")) % {"figure": figure}


def _figure(change: Change, low: float, high: float) -> dict:
    expected, now, unit = change.row.get("expected", ""), change.now, change.unit
    is_left = change.then.get("expected") == "model"
    first, last = (low, high) if is_left else (parse_quantity(change.then[key], unit).value for key in ("low", "high"))
    return {
        "what": _("Expected value and band"),
        "now": _value(expected, unit),
        "now_from": limits_text(now.low, now.high, unit) if now else "",
        "then": format_figure(change.model["value"], unit) if is_left else _value(expected, unit),
        "then_from": limits_text(first, last, unit),
        "is_left": is_left,
    }


def _value(text: str, unit: str) -> str:
    if text.strip().lower() == "model":
        return _("from the circuit model")
    return as_written(text, unit) if text else ""


def _remark(change: Change) -> str:
    figures = {"limit": as_written(change.barred, change.unit), "ref": change.barred_by}
    if change.barred and change.what == STOP:
        return _("Not offered: good builds, or the band, reach the rating of %(ref)s (%(limit)s).") % figures
    if change.barred_by:
        return _("Not offered: the band would go past the rating of %(ref)s (%(limit)s).") % figures
    if change.barred:
        return _("Not offered: the band would reach the stop limit, %(limit)s. Change that first.") % figures
    if change.loosens:
        return _("Higher than now.") if change.what == STOP else _("Wider than now: lets more readings pass.")
    return ""
