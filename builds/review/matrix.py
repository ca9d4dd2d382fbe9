"""The builds x checks matrix as HTML, joined from strings: thousands of cells are too many for a template's loop."""

from functools import lru_cache
from itertools import groupby

from django.urls import reverse
from django.utils.html import escape
from django.utils.safestring import mark_safe

CLASSES = {
    "in band": ("o-in", "✓"),
    "too close to call": ("o-close", "≈"),
    "out of band": ("o-out", "✗"),
    "switch off": ("o-off", "■"),
}
NOTHING = "<td></td>"


def matrix_html(builds, checks, statuses, kit: str, letter: str, figures: bool = False) -> str:
    """A real table: stage bands across the top, a header a build, a cell a check.

    A cell that was in band at the first attempt is a narrow tick, so that what is off stands out and most checks fit on
    a screen; any other has its deviation (the band's middle is 0, its limit 1) and leads to its readings. `figures`:
    every cell has.
    """
    bands = "".join(
        f'<th scope="colgroup" colspan="{len(list(group))}" id="in-{pk}"><span>{escape(title)}</span></th>'
        for (pk, title), group in groupby((c.stage_id, c.stage.title) for c in checks)
    )
    page = reverse("review:check", args=[kit, letter, 0])[:-2]
    heads = "".join(
        f'<th scope="col"><a href="{page}{c.pk}/" title="{escape(c.title)}">{escape(c.title)}</a></th>' for c in checks
    )
    rows = "".join(_row(build, checks, statuses, figures) for build in builds)
    return mark_safe(
        # noqa: S308
        f'<table class="matrix num"><thead><tr><td></td>{bands}</tr>'
        f'<tr class="upright"><th scope="col">Build</th>{heads}'
        f"</tr></thead><tbody>{rows}</tbody></table>"
    )


def stages_off(checks, statuses) -> list[tuple]:
    """[(stage, cells whose last reading is not in band)], in the guide's order: where to jump to in the matrix."""
    stages, off = {c.pk: c.stage_id for c in checks}, {}
    for (_build, check), standing in statuses.items():
        if standing[0] != "in band" and check in stages:
            off[stages[check]] = off.get(stages[check], 0) + 1
    return [(stage, off.get(stage.pk, 0)) for stage in {c.stage_id: c.stage for c in checks}.values()]


def figure_of(deviation: float) -> str:
    """A deviation with one decimal (none from 10 up), a true minus, and no sign on nothing: "−2.3", "+12", "0.0"."""
    return _figure(round(10 * deviation))


@lru_cache(4096)
def _figure(tenths: int) -> str:
    return (
        (f"{tenths / 10:+.1f}" if abs(tenths) < 100 else f"{tenths / 10:+.0f}").replace("-", "−") if tenths else "0.0"
    )


@lru_cache(4096)
def _tick(tenths: int) -> str:
    """Most cells are this one, so its few forms are kept."""
    return f'<td class="o-in" title="{_figure(tenths)}">✓<span class="visually-hidden"> in band</span></td>'


def _row(build, checks, statuses, figures) -> str:
    link = reverse("review:build", args=[build.pk])
    cells = "".join(_cell(statuses.get((build.pk, c.pk)), link, c.pk, figures) for c in checks)
    who = escape(str(build.builder)) if build.builder else "not taken on"
    return (
        f'<tr><th scope="row"><a href="{link}">{escape(build.serial)}</a> <span class="muted">{who}</span></th>'
        f"{cells}</tr>"
    )


def _cell(standing, link, check_id, figures) -> str:
    if standing is None:
        return NOTHING
    outcome, deviation, attempts, first = standing
    if outcome == "in band" and attempts == 1 and not figures:
        return _tick(round(10 * deviation))
    css, symbol = CLASSES[outcome]
    figure = figure_of(deviation)
    again = "·" if attempts > 1 else ""
    words = (
        outcome + (f", first {first}" if first != outcome else "") + (f", {attempts} attempts" if attempts > 1 else "")
    )
    shown = f'<span class="cell-figure">{figure}</span>' if figures or outcome != "in band" else ""
    return (
        f'<td class="{css}"><a href="{link}#check-{check_id}" title="{words}, {figure}; the limit is 1">{symbol}{again}'
        f'{shown}<span class="visually-hidden"> {words}</span></a></td>'
    )
