"""What must hold inside one row of a guide: keys, types, choices and figures. The file and the editor share it.

Every rule yields (key, message), and a message is a sentence that can be read by itself.
"""

from difflib import get_close_matches

from django.utils.translation import gettext as _

from builds.guides.guide_file import shape
from builds.guides.guide_file.figure_rules import check_rules, place_rules, quantity_rules
from builds.guides.guide_file.plain import wrong_value
from builds.ui.drawings.socket import BASES
from builds.ui.messages.errors import message_for
from checks.errors import ChecksError
from checks.quantity import parse_quantity, parse_tolerance

__all__ = [
    "check_rules",
    "keys_and_types",
    "order_rules",
    "part_rules",
    "place_rules",
    "stage_rules",
    "supply_rules",
    "tap_rules",
]


def keys_and_types(table: str, row: dict, known: dict):
    """Unknown keys, wrong types, missing keys, and words outside a fixed choice."""
    for key, value in row.items():
        if key not in known:
            yield key, _unknown_key(table, key, known)
        elif not isinstance(value, shape.TYPES[known[key]]) or (isinstance(value, bool) and known[key] != shape.YES_NO):
            yield key, str(shape.WANTED[known[key]])
        elif key in shape.CHOICES and (table, key) not in shape.NO_CHOICE and value not in shape.CHOICES[key]:
            yield key, not_accepted(value, shape.CHOICES[key])
        elif key not in shape.ROWS and (wrong := wrong_value(table, key, value)):
            yield key, wrong
    for key in shape.REQUIRED.get(table, ()):
        if not row.get(key) or not str(row[key]).strip():
            yield key, _("This is missing, and it is required here.")


def _unknown_key(table: str, key: str, known: dict) -> str:
    if (table, key) in shape.INSTEAD:
        return str(shape.INSTEAD[table, key])
    if near := get_close_matches(key, known, 1):
        return _("“%(key)s” is not a key that is known here. Did you mean %(near)s?") % {"key": key, "near": near[0]}
    return _("“%(key)s” is not a key that is known here. Accepted: %(keys)s.") % {
        "key": key,
        "keys": ", ".join(sorted(known)),
    }


def not_accepted(value, choices) -> str:
    """A word outside a fixed choice, with the nearest or all of the choices."""
    if near := get_close_matches(str(value), choices, 1, 0.75):
        return _("“%(value)s” is not accepted here. Did you mean %(near)s?") % {"value": value, "near": near[0]}
    return _("“%(value)s” is not accepted here. Accepted: %(choices)s.") % {
        "value": value,
        "choices": ", ".join(choices),
    }


def part_rules(row: dict):
    """A part whose kind, value, joins or base cannot be."""
    kind = row["kind"]
    if kind not in shape.KINDS:
        yield "kind", not_accepted(kind, shape.KINDS)
        return
    if kind in shape.NEEDS_VALUE and not row.get("value"):
        yield "value", _("The value is missing. A part of the kind “%(kind)s” needs one.") % {"kind": kind}
    for key in ("joins", "pins"):
        if not _are_names(row.get(key, {})):
            yield key, _("Nodes and pins are written as text in quotes.")
    unit = shape.KINDS[kind]
    yield from quantity_rules({"value": unit} if unit else {}, row)
    yield from quantity_rules({"power": "W", "volts": "V", "amps": "A", "ohms": "Ω"}, row)
    yield from quantity_rules({"leakage": "A"}, row, zero=True)
    yield from _tolerance_rules(row)
    if kind in shape.VALVES and row.get("base") not in BASES:
        yield "base", _("A valve needs one of these bases: %(bases)s.") % {"bases": ", ".join(BASES)}


def _tolerance_rules(row: dict):
    if not row.get("tolerance"):
        return
    try:
        tolerance = parse_tolerance(row["tolerance"])
    except ChecksError as error:
        yield "tolerance", message_for(error)
        return
    if tolerance.minus + tolerance.plus <= 0:
        yield "tolerance", _("A tolerance cannot be zero. Give the maker’s figure, such as 1%%.") % {}
    elif tolerance.minus >= 1:
        yield "tolerance", _("The lower tolerance must be below 100 %%: a part cannot lose all of its value.") % {}


def _are_names(value) -> bool:
    """Text, or lists and tables of text."""
    if isinstance(value, list | dict):
        return all(_are_names(item) for item in (value.values() if isinstance(value, dict) else value))
    return isinstance(value, str)


def tap_rules(taps: list):
    """Every primary tap must be a mains voltage."""
    for tap in taps:
        if isinstance(tap, bool) or not isinstance(tap, int | float) or not 80 <= tap <= 280:
            yield (
                "taps",
                _("“%(tap)s” is not the voltage of a primary tap. Accepted: 80 to 280 volts, such as 115 and 230.")
                % {"tap": str(tap)[:20]},
            )


def stage_rules(row: dict):
    """Cautions that are known and there, and a supply that can be."""
    for caution in row.get("cautions", []):
        if caution not in shape.CHOICES["cautions"]:
            yield "cautions", not_accepted(caution, shape.CHOICES["cautions"])
    yield from supply_rules(row.get("supply", {}))
    if row.get("power") == "on" and not row.get("cautions"):
        yield "cautions", _("A stage with the power on must show cautions, such as lethal-voltage and one-hand.")


def order_rules(stage: dict):
    """`order`, where there is one, must name every step and check of its stage once."""
    steps, checks = (_keys(stage.get(name, [])) for name in ("step", "check"))
    order = stage.get("order", [])
    if not order:
        return
    for key in sorted({*steps} & {*checks}):
        yield (
            "order",
            _("A step and a check of this stage are both called “%(key)s”. Give one of them another key.")
            % {"key": key},
        )
    for key in dict.fromkeys(key for key in order if key not in (*steps, *checks)):
        yield "order", _("“%(key)s” is neither a step nor a check of this stage.") % {"key": key}
    for key in dict.fromkeys(key for key in order if order.count(key) > 1):
        yield "order", _("“%(key)s” is named more than once.") % {"key": key}
    missing = [key for key in dict.fromkeys((*steps, *checks)) if key not in order]
    if missing:
        yield (
            "order",
            _("The order leaves out %(keys)s. It names every step and check of the stage once.")
            % {"keys": ", ".join(missing)},
        )


def _keys(rows) -> list[str]:
    if not isinstance(rows, list):
        return []
    return [row["key"] for row in rows if isinstance(row, dict) and isinstance(row.get("key"), str)]


def supply_rules(supply: dict):
    """`supply` is empty, { lamp = "60 W" } or { volts = "115 V" }."""
    unknown = [key for key in supply if key not in ("lamp", "volts")]
    if unknown:
        yield "supply", not_accepted(", ".join(unknown), ("lamp", "volts"))
    if "lamp" in supply and "volts" in supply:
        yield "supply", _("A stage is fed through a lamp or at reduced volts, not both.")
    for key, unit in (("lamp", "W"), ("volts", "V")):
        if key in supply:
            yield from _above_zero("supply", str(supply[key]), unit)


def _above_zero(key: str, text: str, unit: str):
    try:
        value = parse_quantity(text, unit).value
    except ChecksError as error:
        yield key, message_for(error)
        return
    if value is None or value <= 0:
        yield key, _("“%(text)s” must be above zero.") % {"text": text[:20]}
