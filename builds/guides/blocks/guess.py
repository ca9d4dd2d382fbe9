"""Which parts of the list a block is probably about: the first that are not wired yet and of a value that fits."""

import re
from dataclasses import replace

from builds.guides.blocks.model import Block, Role
from builds.guides.blocks.owners import LEADING_OUT, Owners
from builds.guides.blocks.rectifier_guess import usual_rectifiers
from builds.guides.parts_import.rows_without_parts import OUTPUT_STAGE
from builds.guides.wiring.ends import list_ends
from checks.circuit.netlist.parts import KINDS
from checks.circuit.netlist.terminals import VALVES, is_heater
from checks.codes import parse_part_value
from checks.errors import ChecksError
from checks.quantity import parse_quantity
from checks.serials import natural

# Words of a part's note that tell its role (English, German; common practice), by the role's name without its number.
NOTE_PATTERNS = {
    "transformer": r"transform|mains|netz|output|ausgang|trafo|übertrager",
    "inlet": r"inlet|IEC|mains|netz|kaltger|schutzleiter",
    "fuse": r"mains|primary|netz",
    "switch": r"mains|power|netz",
    "ht_fuse": r"\bHT\b|B\+|anode",
    "d": r"rectif|diode|gleichricht",
    "c": r"reservoir|smooth|filter|decoupl|supply|sieb|lade",
    "r": r"smooth|filter|decoupl|dropp|choke|supply|sieb",
    "bleeder": r"bleed|discharg|entlad",
    "ra": r"heater|balanc|hum|heiz",
    "rb": r"heater|balanc|hum|heiz",
    "load": r"anode|plate|\bload\b|anod",
    "rk": r"follower|[ck]ath?ode",
    "ck": r"bypass|[ck]ath?ode",
    "leak": r"leak|ableit|volume|lautst|gain|pegel|niveau",
    "stopper": r"stop|schwing|vorwid|gittervor",
    "screen": r"screen|g2|schirm",
    "cin": r"input|eingang",
    "cg": r"grid|gitter",
    "rg": r"divid|teiler",
    "cout": r"output|coupl|ausgang|koppel",
    "couple": r"coupl|interstage|koppel",
    "ca": r"coupl|phase|koppel",
    "cb": r"coupl|phase|koppel",
    "rout": r"output|ausgang",
    "tail": r"tail",
    "rbias": r"bias",
    "jack_in": r"input|line in|eingang|cinch|\brca\b",
    "jack_out": r"output|line out|ausgang",
    "jack": r"speaker|laut|output|polklemme|binding post",
    "jack_minus": r"^(?!.*(?:\bred\b|\brot\b|\+|plus))(?=.*(?:speaker|laut|polklemme|binding post|\d ?(?:Ω|ohm)))"
    r".*(?:black|schwarz|minus|common|[-−–]\s*$|\b0\s*(?:Ω|ohm))",
}
OF_OUTPUTS = ("single-ended", "push-pull", "bias")
INLET = re.compile(NOTE_PATTERNS["inlet"].replace("IEC", r"\bIEC\b"), re.IGNORECASE)
# Most first stages have no such capacitor, and the next one has its own already; a signal socket is no mains inlet.
ONLY_NOTED = ("cin", "jack_minus", "inlet")
TWIN_LAST = 2  # the place of the twin triode among the kinds of an output valve
FIRST = ("jack_minus",)  # or the other terminal's role would take it
BIAS = r"bias|gitter"  # of every part of a bias supply
# Ohms: a larger one that no note calls a stopper is an anode or cathode load, and one above all loads a grid leak.
LARGEST_UNNAMED = {"stopper": 22e3, "load": 470e3}
KNOWN = re.compile("|".join(dict.fromkeys([*NOTE_PATTERNS.values(), BIAS])), re.IGNORECASE)


def guess_refs(block: Block, parts: list[dict]) -> dict[str, str]:
    """{role: reference}; "" where nothing fits. A note that tells another role speaks against a part."""
    rows = sorted(parts, key=lambda row: natural(row["ref"]))
    taken: set[str] = set()
    refs: dict[str, str] = {}
    owners = Owners(rows, by_section=any(ask.name == "section" for ask in block.asks))
    for role in sorted(block.roles, key=lambda role: role.name not in FIRST):
        fits = _candidates(block, role, [row for row in rows if row["ref"] not in taken], owners)
        noted = [row for row in fits if _note_names_it(block, role, row)]
        open_ = [row for row in fits if _may_be_unnamed(role, row)]
        only_one = fits if role.name == "transformer" and len(fits) == 1 else []
        best = (noted or ([] if role.name in ONLY_NOTED else open_) or only_one)[:1]
        refs[role.name] = best[0]["ref"] if best else ""
        taken |= {refs[role.name]}
        if role.kinds[0] in VALVES and refs[role.name]:
            owners.take(refs[role.name])
    if block.key == "rectifier":
        free = [row for row in rows if _fits(_role(block, "d1"), row)]
        refs |= usual_rectifiers(free, refs)
    alone = {role.name for role in block.roles if role.beside and not refs[role.beside]}
    return {name: "" if name in alone else ref for name, ref in refs.items()}


def _candidates(block: Block, role: Role, rows: list[dict], owners: Owners) -> list[dict]:
    """The free parts that fit a role, without those that their notes give to something else."""
    fits = owners.left(role, [row for row in rows if _fits(role, row)])
    if role.kinds[0] in VALVES:  # a twin triode is an output valve where no other is left
        fits = sorted(fits, key=lambda row: role.kinds.index(row["kind"]) == TWIN_LAST)
    if role.kinds == ("connector",) and role.name != "inlet":
        fits = _without(INLET, fits)
    leads_out = role.name in LEADING_OUT and owners.named  # "coupling, output stage" is what drives it
    if block.key not in OF_OUTPUTS and not leads_out:  # "cathode of the output valves" is no first stage's
        fits = _without(OUTPUT_STAGE, fits)
    if block.key == "rectifier":  # a bias diode or capacitor is of little voltage, and the other way round
        fits = _without(re.compile(BIAS, re.IGNORECASE), fits)
    return fits


def _without(pattern: re.Pattern, rows: list[dict]) -> list[dict]:
    return [row for row in rows if not pattern.search(str(row.get("note", "")))]


def _role(block: Block, name: str) -> Role:
    return next(role for role in block.roles if role.name == name)


def _may_be_unnamed(role: Role, row: dict) -> bool:
    """May a part stand in a role though no note says so?"""
    if row["kind"] in VALVES:
        return True
    most = LARGEST_UNNAMED.get(role.name.rstrip("0123456789"))
    is_usual = most is None or _is_between(replace(role, high=most), row)
    return is_usual and not KNOWN.search(OUTPUT_STAGE.sub("", str(row.get("note", ""))))


def _note_names_it(block: Block, role: Role, row: dict) -> bool:
    pattern = (
        BIAS
        if block.key == "bias"
        else NOTE_PATTERNS.get(role.name) or NOTE_PATTERNS.get(role.name.rstrip("0123456789"), "")
    )
    return bool(pattern) and bool(re.search(pattern, str(row.get("note", "")), re.IGNORECASE))


def _fits(role: Role, row: dict) -> bool:
    if row["kind"] not in role.kinds:
        return False
    if "transformer" in role.kinds[0] or row["kind"] in VALVES and not role.name.startswith("valve"):
        return not any(end.point for end in list_ends(row)) or role.name == "transformer"
    is_whole = role.kinds == ("twin triode",) and role.name == "valve" or "pentode" in role.kinds
    if row["kind"] == "twin triode" and is_whole:  # both of its sections
        return not any(end.point for end in list_ends(row) if not is_heater(end.terminal))
    if row["kind"] in VALVES:
        return any(not end.point for end in list_ends(row) if not is_heater(end.terminal))
    if any(end.point for end in list_ends(row)):
        return False
    return _is_between(role, row) and _is_rated_for(role, row)


def _is_between(role: Role, row: dict) -> bool:
    if not KINDS[row["kind"]] or row["kind"] in ("fuse", "regulator", "inductor") or not row.get("value"):
        return True
    try:
        value = parse_part_value(row["value"], KINDS[row["kind"]]).value
    except ChecksError:
        return False
    return value is not None and role.low <= value <= role.high


def _is_rated_for(role: Role, row: dict) -> bool:
    """Is it rated for a high-voltage supply, where the block needs that?"""
    if not role.least_volts or not row.get("volts"):
        return True
    try:
        return (parse_quantity(row["volts"], "V").value or 0) >= role.least_volts
    except ChecksError:
        return False
