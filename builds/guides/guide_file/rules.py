"""What must hold inside one row of a guide: keys, types, choices and figures. Also used by the web editor."""

from difflib import get_close_matches

from builds.guides.circuit.content import CAN, can_compute
from builds.guides.guide_file import shape
from builds.guides.guide_file.plain import wrong_value
from builds.guides.models import UNITS
from builds.ui.drawings.socket import BASES
from checks.band import parse_band
from checks.errors import ChecksError
from checks.quantity import parse_quantity, parse_tolerance

FIGURES = ("band", "low", "high", "at_least", "at_most", "stop_above", "stop_below")


def keys_and_types(table: str, row: dict, known: dict):
    """Yield (key, message) for unknown keys, wrong types, missing keys and words outside a fixed choice."""
    for key, value in row.items():
        if key not in known:
            near = get_close_matches(key, known, 1)
            hint = f"Did you mean {near[0]}?" if near else f"It takes {', '.join(sorted(known))}."
            yield key, f"is not a key of a {table}. {shape.INSTEAD.get((table, key), hint)}"
        elif not isinstance(value, shape.TYPES[known[key]]) or (isinstance(value, bool) and known[key] != shape.YES_NO):
            yield key, f"must be {known[key]}."
        elif key in shape.CHOICES and (table, key) not in shape.NO_CHOICE and value not in shape.CHOICES[key]:
            yield key, f"is “{value}”; it takes {', '.join(shape.CHOICES[key])}."
        elif key not in shape.ROWS and (wrong := wrong_value(table, key, value)):
            yield key, wrong
    for key in shape.REQUIRED.get(table, ()):
        if not row.get(key) or not str(row[key]).strip():
            yield key, f"is missing: every {table} needs it."


def part_rules(row: dict):
    """Yield (key, message) for a part whose kind, value or joins cannot be."""
    kind = row["kind"]
    if kind not in shape.KINDS:
        near = get_close_matches(kind, shape.KINDS, 1)
        yield "kind", f"is “{kind}”; " + (f"did you mean {near[0]}?" if near else f"it takes {', '.join(shape.KINDS)}.")
        return
    if kind in shape.NEEDS_VALUE and not row.get("value"):
        yield "value", f"is missing: a {kind} needs it."
    if kind in shape.NEEDS_JOINS and not row.get("joins"):
        yield "joins", f"is missing: a {kind} joins nodes of the circuit."
    for key in ("joins", "pins"):
        if not _are_names(row.get(key, {})):
            yield key, "must name nodes and pins as text between quotes."
    unit = shape.KINDS[kind]
    yield from _readable({"value": unit} if unit else {}, row)
    yield from _readable({"power": "W", "volts": "V", "amps": "A", "ohms": "Ω", "leakage": "A"}, row)
    if row.get("tolerance"):
        yield from _asked("tolerance", parse_tolerance, row["tolerance"])
    if kind in shape.VALVES and row.get("base") not in BASES:
        yield "base", f"is {row.get('base')!r}; a valve has one of {', '.join(BASES)}."


def _are_names(value) -> bool:
    """Text, or lists and tables of text."""
    if isinstance(value, list | dict):
        return all(_are_names(item) for item in (value.values() if isinstance(value, dict) else value))
    return isinstance(value, str)


def tap_rules(taps: list):
    """Yield (key, message) unless every primary tap is a mains voltage."""
    for tap in taps:
        if isinstance(tap, bool) or not isinstance(tap, int | float) or not 80 <= tap <= 280:
            yield "taps", f"holds {str(tap)[:20]}; a primary tap has 80 to 280 volts, such as 115 and 230."


def _readable(units: dict, row: dict):
    for key, unit in units.items():
        if row.get(key):
            yield from _asked(key, parse_quantity, row[key], unit)


def _asked(key, ask, *args):
    try:
        ask(*args)
    except ChecksError as error:
        yield key, str(error)


def stage_rules(row: dict):
    for caution in row.get("cautions", []):
        if caution not in shape.CHOICES["cautions"]:
            yield "cautions", f"holds “{caution}”; it takes {', '.join(shape.CHOICES['cautions'])}."
    yield from supply_rules(row.get("supply", {}))
    if row.get("power") == "on" and not row.get("cautions"):
        yield "cautions", "is empty: a stage with power on must show cautions, lethal-voltage first."


def order_rules(stage: dict):
    """Yield (key, message) unless `order`, where there is one, names every step and check of its stage once."""
    steps, checks = (_keys(stage.get(name, [])) for name in ("step", "check"))
    order = stage.get("order", [])
    if not order:
        return
    for key in sorted({*steps} & {*checks}):
        yield "order", f"cannot tell the step “{key}” from the check “{key}”: give one of them another key."
    for key in dict.fromkeys(key for key in order if key not in (*steps, *checks)):
        yield "order", f"names “{key}”, which is neither a step nor a check of this stage."
    for key in dict.fromkeys(key for key in order if order.count(key) > 1):
        yield "order", f"names “{key}” more than once."
    missing = [key for key in dict.fromkeys((*steps, *checks)) if key not in order]
    if missing:
        yield "order", f"leaves out {', '.join(missing)}; it names every step and check of the stage once."


def _keys(rows) -> list[str]:
    if not isinstance(rows, list):
        return []
    return [row["key"] for row in rows if isinstance(row, dict) and isinstance(row.get("key"), str)]


def supply_rules(supply: dict):
    """Yield (key, message) unless `supply` is empty, { lamp = "60 W" } or { volts = "115 V" }."""
    unknown = [key for key in supply if key not in ("lamp", "volts")]
    if unknown:
        yield "supply", f"holds {', '.join(unknown)}; it takes lamp or volts."
    if "lamp" in supply and "volts" in supply:
        yield "supply", "has a lamp and volts; a stage is fed one way or the other."
    for key, unit in (("lamp", "W"), ("volts", "V")):
        if key in supply:
            for _key, message in _asked("supply", _above_zero, str(supply[key]), unit):
                yield "supply", f"{key}: {message}"


def _above_zero(text: str, unit: str) -> None:
    value = parse_quantity(text, unit).value
    if value is None or value <= 0:
        raise ChecksError(f"“{text[:20]}” must be above zero.", argument="text")


def check_rules(row: dict):
    """Yield (key, message) for figures that contradict each other or cannot be read."""
    unit = UNITS[row["measure"]]
    expected = row.get("expected", "")
    model = expected.strip().lower() == "model"
    if model and not can_compute({"black": "chassis"} | row):
        where = "at a point in words" if row["measure"] in CAN else f"as a {row['measure']}"
        yield "expected", f"is left to the circuit model, which says nothing of a reading {where}: give a figure."
    figures = {key: row.get(key, "") for key in FIGURES}
    says_band = any(figures[k] for k in ("band", "low", "high", "at_least", "at_most"))
    if not model or (says_band and not figures["band"]):
        try:
            parse_band(unit=unit, expected="" if model else expected, **figures)
        except ChecksError as error:
            yield error.argument or "band", str(error)
    yield from _readable({"prototype": unit, "source_resistance": "Ω"}, row)
    if row["measure"] == "current" and not row.get("through"):
        yield "through", "is missing: a current is read across a known resistor, named here."
    if row.get("marker") and not (
        len(row["marker"]) == 2 and all(isinstance(v, (int, float)) and 0 <= v <= 1 for v in row["marker"])
    ):
        yield "marker", "must be two fractions of the picture's width and height, such as [0.4, 0.2]."
