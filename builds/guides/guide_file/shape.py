"""Which keys each table of a guide file takes, and of what type."""

from django.utils.translation import gettext_lazy as _

from builds.accounts.cautions import CAUTIONS
from builds.guides.models import MEASURES
from checks.circuit.netlist import parts, terminals

TEXT, WHOLE, NUMBER, YES_NO, LIST, TABLE = "text", "a whole number", "a number", "true or false", "a list", "a table"
EITHER = "a list or a table"
TYPES: dict[str, type | tuple[type, ...]] = {
    TEXT: str,
    WHOLE: int,
    NUMBER: (int, float),
    YES_NO: bool,
    LIST: list,
    TABLE: dict,
    EITHER: (list, dict),
}
WANTED = {
    TEXT: _("This must be text in quotes."),
    WHOLE: _("This must be a whole number, such as 12."),
    NUMBER: _("This must be a number, such as 0.5."),
    YES_NO: _("This must be true or false."),
    LIST: _('This must be a list, such as ["R1", "R2"].'),
    TABLE: _("This must be a table, such as { volts = 230 }."),
    EITHER: _('This must be a list or a table, such as ["v2.cathode", "chassis"].'),
}

KIT = {"key": TEXT, "name": TEXT, "revision": TEXT, "mains": TABLE, "taps": LIST, "summary": TEXT}
POINT = {"node": TEXT, "words": TEXT, "picture": TEXT, "marker": LIST, "places": LIST}
PART = {
    "ref": TEXT,
    "kind": TEXT,
    "value": TEXT,
    "tolerance": TEXT,
    "ohms_tolerance": TEXT,
    "bag": TEXT,
    "quantity": WHOLE,
    "note": TEXT,
    "joins": EITHER,
    "pins": TABLE,
    "power": TEXT,
    "volts": TEXT,
    "amps": TEXT,
    "type": TEXT,
    "base": TEXT,
    "winding": LIST,
    "limits": TABLE,
    "model": TABLE,
    "setting": NUMBER,
    "leakage": TEXT,
    "ohms": TEXT,
    "regulation": TEXT,
    "open_when_off": YES_NO,
    "alternatives": LIST,
    "video": TABLE,
}
PART_COLUMNS = ("ref", "kind", "value", "tolerance", "bag", "quantity", "note")
WINDING = {
    "name": TEXT,
    "volts": TEXT,
    "tolerance": TEXT,
    "amps": TEXT,
    "ohms": TEXT,
    "ohms_tolerance": TEXT,
    "impedance": TEXT,
    "inductance": TEXT,
    "leakage_inductance": TEXT,
    "joins": LIST,
}
# What people may write for something that is written in another way.
INSTEAD = {
    ("winding", "taps"): _(
        "A winding has no taps here: write it as two windings that share the tap's node. "
        "The mains taps belong to the kit."
    )
}
STAGE = {
    "key": TEXT,
    "title": TEXT,
    "intro": TEXT,
    "power": TEXT,
    "not_fitted": LIST,
    "supply": TABLE,
    "settings": TABLE,
    "cautions": LIST,
    "gate": YES_NO,
    "minutes": WHOLE,
    "video": TABLE,
    "order": LIST,
    "step": LIST,
    "check": LIST,
}
STEP = {"key": TEXT, "text": TEXT, "parts": LIST, "picture": TEXT, "photo": TEXT, "hands_in": YES_NO, "video": TABLE}
CHECK = {
    "key": TEXT,
    "title": TEXT,
    "measure": TEXT,
    "red": TEXT,
    "black": TEXT,
    "note": TEXT,
    "expected": TEXT,
    "figure_from": TEXT,
    "prototype": TEXT,
    "band": TEXT,
    "low": TEXT,
    "high": TEXT,
    "at_least": TEXT,
    "at_most": TEXT,
    "stop_above": TEXT,
    "stop_below": TEXT,
    "mains_exponent": NUMBER,
    "source_resistance": TEXT,
    "read_with": TEXT,
    "through": TEXT,
    "signal": TABLE,
    "picture": TEXT,
    "marker": LIST,
    "formula": TABLE,
    "recording": TABLE,
    "optional": YES_NO,
    "hint": LIST,
}
HINT = {"when": TEXT, "text": TEXT, "next": TEXT}
PICTURE = {"name": TEXT, "turn": WHOLE, "crop": LIST, "mark": LIST}  # what is done to a picture of the guide
MARK = {"what": TEXT, "at": LIST, "to": LIST, "size": NUMBER, "text": TEXT}
TOP = {"format": WHOLE, "kit": TABLE, "picture": LIST, "point": LIST, "part": LIST, "fault": LIST, "stage": LIST}

ROWS = ("kit", "mark", "point", "part", "fault", "stage", "step", "check")  # keys that hold rows, each judged by itself
MAINS = ("volts", "hertz")
RESERVED = ("builds", "snags", "import", "new")  # words that addresses of this site begin with

REQUIRED = {
    "kit": ("key", "name", "revision"),
    "point": ("node", "words"),
    "part": ("ref", "kind"),
    "stage": ("key", "title"),
    "step": ("key", "text"),
    "check": ("key", "title", "measure", "red"),
    "hint": ("when", "text"),
    "picture": ("name",),
    "mark": ("what", "at"),
}
CHOICES = {
    "measure": MEASURES,
    "power": ("off", "on"),
    "photo": ("none", "optional", "required"),
    "figure_from": ("designer", "prototype", "model"),
    "when": ("low", "high", "off"),
    "what": ("arrow", "ring", "number", "words"),
    "cautions": tuple(CAUTIONS),
}
NO_CHOICE = (("part", "power"), ("stage", "cautions"))  # watts; and a list, judged word by word
KINDS = parts.KINDS  # kind -> the unit of its value, "" where it has none
NEEDS_VALUE = (*parts.NEEDS_VALUE, "test resistor", "test battery")
VALVES = terminals.VALVES
DEFAULTS: dict[str, dict] = {
    "part": {"quantity": 1},
    "stage": {"power": "off", "gate": False, "minutes": 0},
    "step": {"photo": "none", "hands_in": False},
    "check": {"black": "chassis", "figure_from": "designer", "optional": False},
    "kit": {"mains": {"volts": 230, "hertz": 50}},
    "point": {},
    "picture": {"turn": 0},
    "hint": {},
}


def without_defaults(table: str, row: dict) -> dict:
    """A row as a guide file writes it: nothing empty, nothing that is the default anyway."""
    usual = DEFAULTS[table]
    return {k: v for k, v in row.items() if v not in ("", [], {}, None) and not (k in usual and usual[k] == v)}
