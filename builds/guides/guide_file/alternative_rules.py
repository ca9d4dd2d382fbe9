"""What a permitted alternative of a valve must be: a type known or described, for the same socket and heater."""

from django.utils.translation import gettext as _

from builds.guides.alternatives import Alternative, alternatives_in, row_with_type
from builds.guides.guide_file import shape
from builds.guides.parts_import.valve_book import valve_keys
from builds.ui.messages.parts_list import part_message
from checks.circuit import part_from_mapping
from checks.circuit.validation.pins import pin_warnings
from checks.circuit.valves.pinouts import plain_base
from checks.circuit.valves.types import find_heater, find_koren, find_type
from checks.errors import ChecksError

KEYS = {"type": shape.TEXT, "limits": shape.TABLE, "model": shape.TABLE, "note": shape.TEXT}
DANGER = True


def alternative_rules(row: dict):
    """(key, message) or, where a wrong valve could hurt someone, (key, message, DANGER)."""
    rows = row.get("alternatives")
    if not rows:
        return
    if row["kind"] not in shape.VALVES:
        yield "alternatives", _("Only valves have permitted alternatives.")
        return
    if wrong := next((message for item in rows if (message := _wrong_shape(item))), ""):
        yield "alternatives", wrong
        return
    before = [str(row.get("type", "")).upper()]
    for alternative in alternatives_in(row):
        if alternative.type.upper() in before:
            yield "alternatives", _("%(type)s is named more than once.") % {"type": alternative.type}
        else:
            yield from (("alternatives", *problem) for problem in _problems(row, alternative))
        before.append(alternative.type.upper())


def _wrong_shape(item) -> str:
    if isinstance(item, str):
        return "" if item.strip() else _("A type is missing.")
    if not isinstance(item, dict):
        return _("An alternative is a type, such as 6CA7, or a table with type, limits, model and note.")
    if unknown := [key for key in item if key not in KEYS]:
        return _("“%(key)s” is not a key that is known here. Accepted: %(keys)s.") % {
            "key": unknown[0],
            "keys": ", ".join(KEYS),
        }
    if wrong := next((key for key, value in item.items() if not isinstance(value, shape.TYPES[KEYS[key]])), ""):
        return str(shape.WANTED[KEYS[wrong]])
    return "" if item.get("type", "").strip() else _("A type is missing.")


def _problems(row: dict, chosen: Alternative):
    names = {"type": chosen.type, "own": str(row.get("type", ""))}
    if message := _wrong_figures(row, chosen) or _unknown(row["kind"], chosen) or _other_kind(row["kind"], chosen):
        yield (message,)
        return
    book = valve_keys(chosen.type)
    if book.get("base") and row.get("base") and plain_base(book["base"]) != plain_base(row["base"]):
        yield _("%(type)s has another base, %(base)s.") % (names | {"base": book["base"]}), DANGER
        return
    own, other = (find_heater(ref, limits) for ref, limits in _heaters(row, chosen))
    if own and other and (own.volts, own.centre) != (other.volts, other.centre):
        yield _("The heater of %(type)s is not fed like that of %(own)s.") % names, DANGER
    if _has_other_pins(row_with_type(row, chosen.type)) and not _has_other_pins(row):  # else of the guide's own, too
        yield _("The published pins of %(type)s are not those of this socket.") % names, DANGER


def _heaters(row, chosen):
    return ((str(row.get("type", "")), row.get("limits") or {}), (chosen.type, chosen.limits))


def _wrong_figures(row: dict, chosen: Alternative) -> str:
    """A rating that nothing could exceed would let any stress of this valve pass."""
    try:
        part_from_mapping(row_with_type(row, chosen.type))
    except ChecksError as error:
        if str(error.params.get("key", "")).startswith(("limits.", "model.")):
            return part_message(error)
    return ""  # what else is wrong is wrong with the part itself


def _unknown(kind: str, chosen: Alternative) -> str:
    """A valve of which nothing is known could pass with figures of another."""
    try:
        if kind == "rectifier valve":
            is_known = (
                bool(find_type(chosen.type)) or "perveance" in chosen.model or {"volts", "amps"} <= {*chosen.model}
            )
        else:
            is_known = bool(find_koren(chosen.type, chosen.model, kind))
    except ChecksError:
        is_known = False
    if is_known and find_heater(chosen.type, chosen.limits):
        return ""
    return _(
        "%(type)s is not in the valve library. Give it its own model, and limits with heater_volts and heater_amps, "
        "or choose a type from the library."
    ) % {"type": chosen.type}


def _other_kind(kind: str, chosen: Alternative) -> str:
    book = valve_keys(chosen.type)
    if not book.get("kind") or book["kind"] == kind:
        return ""
    return _("%(type)s is a %(kind)s, which does not suit this socket.") % {"type": chosen.type, "kind": book["kind"]}


def _has_other_pins(row: dict) -> bool:
    try:
        return any(error.code == "other-pins" for error in pin_warnings(part_from_mapping(row)))
    except ChecksError:  # the part itself is not complete yet, which is said elsewhere
        return False
