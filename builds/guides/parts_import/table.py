"""Rows of a spreadsheet made into rows of the parts list, each error with its row and column."""

import re
from dataclasses import dataclass, field

from builds.guides.guide_file import rules, shape
from builds.guides.parts_import.among_words import add_from_words
from builds.guides.parts_import.bases import named_base
from builds.guides.parts_import.columns import is_percent
from builds.guides.parts_import.counts import count_in, refuse_other_count
from builds.guides.parts_import.figures import refuse_spoiled
from builds.guides.parts_import.heads import split_head, with_unit, with_unit_cell
from builds.guides.parts_import.kinds import guess_kind, is_valve, named_kind, names_kind, valve_kind
from builds.guides.parts_import.messages import part_error
from builds.guides.parts_import.references import expand
from builds.guides.parts_import.rows_without_parts import OUTPUT_STAGE, TOTAL, output_stage, read_heading
from builds.guides.parts_import.semiconductors import volts_in_type
from builds.guides.parts_import.several import join_sections, of_one
from builds.guides.parts_import.values import FIELD_UNITS, by_unit, read_cell, read_field
from builds.guides.parts_import.valve_book import holds_two_kinds, system_keys, system_named, valve_keys
from builds.ui.drawings.socket import BASES
from checks.circuit.netlist.op_amps import OP_AMP
from checks.circuit.netlist.sources import REGULATORS
from checks.circuit.netlist.terminals import LISTED, VALVES
from checks.circuit.netlist.transistors import TRANSISTORS
from checks.errors import ChecksError

TYPED = (*VALVES, *TRANSISTORS, "diode", "bridge", "zener", *REGULATORS, OP_AMP)
WORDED = ("mains transformer", "output transformer", "switch", "link", "connector", "hardware")  # known by words

# Units of the value and the rating of a kind, where a column is for parts of several kinds.
WANTED = {"resistor": "ΩW", "potentiometer": "ΩW", "capacitor": "FV", "electrolytic": "FV", "inductor": "HA"}
_OHMS = re.compile(r"(?<![\d.,])(\d{1,4}(?:[.,]\d)?)\s*(?:Ω|ohms?\b)", re.IGNORECASE)  # of a choke's wire
_LENGTH = re.compile(
    r"\d{1,3}[.,]\d+(?:\s*(?:m|cm|mm|meter|metres?))?|\d{1,4}\s*(?:m|cm|mm|meter|metres?)", re.IGNORECASE
)
_DIODE = re.compile(r"1N\d{3,4}[A-Z]?|UF\d{4}|BY[A-Z]?\d{2,3}", re.IGNORECASE)


@dataclass(frozen=True)
class RowError:
    """`row` counts from 1 as the table shows it; `field` is the column's field, "" for the row as a whole."""

    row: int
    field: str
    message: str
    ref: str = ""


@dataclass
class Table:
    """Parts as rows of the guide file, errors, and rows that hold no part (headings and totals)."""

    parts: list[dict] = field(default_factory=list)
    errors: list[RowError] = field(default_factory=list)
    skipped: list[int] = field(default_factory=list)
    row_of: dict[str, int] = field(default_factory=dict)
    chosen: dict[str, dict[str, str]] = field(default_factory=dict)


def read_table(
    rows, fields: list[str], has_head: bool, taken: frozenset[str] = frozenset(), chosen: dict | None = None
) -> Table:
    """The parts of a sheet whose columns hold `fields`; `taken` are references that automatic ones must not use, and
    `chosen` are fields that the designer chose for a reference because its row does not show them."""
    table, bag, stage, section = Table(chosen=chosen or {}), "", "", ""
    heads = rows[0] if has_head and rows else ()
    units = [split_head(head)[1] for head in heads] or [""] * len(fields)
    percent = any(f == "tolerance" and is_percent(heads[n]) for n, f in enumerate(fields) if n < len(heads))
    for number, row in enumerate(rows, 1):
        if has_head and number == 1:
            continue
        if heads and [cell.casefold() for cell in row] == [head.casefold() for head in heads]:
            table.skipped.append(number)  # the head again, on the next page
            continue
        try:
            cells = _cells(_with_units(row, units, fields, section), fields)
        except ChecksError as error:
            table.errors.append(RowError(number, error.argument, part_error(error)))
            continue
        if heading := read_heading(row, cells):
            bag = heading if heading != "-" else bag
            section = split_head(next(filter(None, row)))[1]
            stage = output_stage(row, stage)
            table.skipped.append(number)
            continue
        if not cells:
            table.skipped.append(number)  # nothing but cells of columns that are not used
            continue
        if bag:
            cells.setdefault("bag", bag)
        if stage and not OUTPUT_STAGE.search(cells.get("note", "")):
            cells["note"] = "; ".join(filter(None, (cells.get("note", ""), stage)))
        _add(table, number, cells, percent, taken)
    _join_sections(table)
    return table


def _join_sections(table: Table) -> None:
    """V1a and V1b, in one row or in two, are one valve."""
    table.parts, differing = join_sections(table.parts)
    for ref, name in differing:
        error = ChecksError(
            "sections", code="sections-differ", one=f"{name}{'A' if ref[-1].isupper() else 'a'}", other=ref
        )
        table.errors.append(RowError(table.row_of[ref], "type", part_error(error), ref))
    for part in table.parts:
        table.row_of.setdefault(
            part["ref"], table.row_of.get(f"{part['ref']}a", table.row_of.get(f"{part['ref']}A", 0))
        )


def _with_units(row, units: list[str], fields: list[str], section: str = "") -> list[str]:
    """The cells of a row with the units that the heads of their columns name, or the heading above ("Widerstände
    [kΩ]"), or that have a column of their own."""
    ref = row[fields.index("ref")] if "ref" in fields else ""
    first = re.search(r"[^\W\d_]{1,4}\s*\d", ref)  # also of "2x R7, R8"
    wanted = WANTED.get(guess_kind(first[0]), "") if first else ""
    own = row[fields.index("unit")] if "unit" in fields else ""
    cells = [with_unit(cell, unit, wanted) for cell, unit in zip(row, units, strict=False)]
    if "value" in fields and not TOTAL.fullmatch(ref):
        at = fields.index("value")
        cells[at] = with_unit_cell(with_unit(row[at], section, wanted) if section else cells[at], own)
    return cells


def _cells(row, fields: list[str]) -> dict[str, str]:
    """The filled cells of a row by field; values and notes of several columns together."""
    cells: dict[str, str] = {}
    for name, cell in zip(fields, row, strict=False):
        if name and name != "unit" and cell.strip():
            cells[name] = f"{cells[name]} {cell.strip()}" if name in cells else cell.strip()
    return cells


def _add(table: Table, number: int, cells: dict, percent: bool, taken) -> None:
    try:
        refuse_spoiled(cells)
        cells |= count_in(cells)
        refs = _references(table, cells, taken)
        refuse_other_count(refs, _count(cells.get("quantity", "")))
        cells |= {"value": of_one(cells["value"], refs)} if cells.get("value") and not _is_bridge(cells) else {}
    except ChecksError as error:
        field_ = error.argument if error.code.startswith(("cell-", "several-", "quantity-")) else "ref"
        table.errors.append(RowError(number, field_, part_error(error)))
        return
    counted = len(refs) > 1 and _count(cells.get("quantity", "")) == str(len(refs))
    if counted:
        cells = {k: v for k, v in cells.items() if k != "quantity"}
    for ref in refs:
        if ref in table.row_of:
            twice = ChecksError("twice", code="ref-twice", ref=ref, row=table.row_of[ref])
            table.errors.append(RowError(number, "ref", part_error(twice), ref))
            continue
        table.row_of[ref] = number
        part, wrong = build_part(ref, cells | table.chosen.get(ref, {}), percent)
        table.errors += [RowError(number, key, message, ref) for key, message in wrong]
        if not wrong:
            table.parts.append(part)


def _is_bridge(cells: dict) -> bool:
    return re.search(r"bridge|brücke", " ".join(cells.values()), re.IGNORECASE) is not None


def _references(table: Table, cells: dict, taken) -> list[str]:
    """The references of a row. Hardware without one (screws, wire) is numbered H1, H2 and so on."""
    if cells.get("ref"):
        return expand(cells["ref"])
    if not (cells.get("note") or cells.get("value") or cells.get("type")):
        return expand("")
    free = (f"H{n}" for n in range(1, 1000) if f"H{n}" not in table.row_of and f"H{n}" not in taken)
    cells["kind"] = cells.get("kind") or "hardware"
    number = next(free, "")
    return [number] if number else expand("")  # which asks for a reference


def build_part(ref: str, cells: dict, percent: bool = False) -> tuple[dict, list[tuple[str, str]]]:
    """(row of the guide file, [(field, message)]) of one reference from its cells."""
    wrong: list[tuple[str, str]] = []
    cells = _with_type(cells)
    kind = _kind(ref, cells, wrong)
    part = {"ref": ref, "kind": kind}
    if not kind:
        return part, wrong
    rest = _figures(part, cells, percent, wrong)
    _words(part, cells, rest)
    _quantity(part, cells, wrong)
    _ends(part, cells, wrong)
    if kind in VALVES:
        book = valve_keys(part.get("type", "")) or system_keys(part.get("type", ""), kind)
        part |= {k: v for k, v in book.items() if k not in part}
        if part.get("base") not in BASES and (base := named_base(part.get("base") or part.get("note", ""))):
            part["base"] = base
    if not wrong:
        wrong += [(key, message) for key, message in rules.keys_and_types("part", part, shape.PART)]
    if not wrong:
        wrong += [(key, message) for key, message in rules.part_rules(part)]
    return part, wrong


def _with_type(cells: dict) -> dict:
    """A valve's or a diode's type that stands among the words of a note: "Röhre ECC83"."""
    if cells.get("type") or cells.get("value"):
        return cells
    tokens = re.split(r"[\s,;()/]+", cells.get("note", ""))
    type_ = next((word for word in tokens if not word.isdigit() and valve_kind(word) or _DIODE.fullmatch(word)), "")
    return cells | ({"type": type_} if type_ else {})


def _kind(ref: str, cells: dict, wrong: list) -> str:
    if holds_two_kinds(cells.get("type") or cells.get("value", "")) and (
        system := system_named(" ".join(cells.values()))
    ):
        return system
    if named := cells.get("kind", ""):
        kind = named_kind(named) or valve_kind(cells.get("type", ""))
        if not kind and (guessed := _guessed(ref, cells, named)):
            return guessed
        if not kind:
            wrong.append(("kind", _unknown(ref, cells) if is_valve(ref) else rules.not_accepted(named, shape.KINDS)))
        return kind
    kind = _guessed(ref, cells)
    if not kind:
        wrong.append(("kind", _unknown(ref, cells)))
    return kind


def _unknown(ref: str, cells: dict) -> str:
    type_ = cells.get("type") or cells.get("value", "")
    code = "unknown-valve" if is_valve(ref) else "unknown-kind"
    if code == "unknown-valve" and holds_two_kinds(type_):
        code = "triode-pentode"
    return part_error(ChecksError("kind", code=code, ref=ref, type=type_))


def _guessed(ref: str, cells: dict, more: str = "") -> str:
    value = cells.get("value", "")
    joined = re.sub(r"^([\d.,]+)\s+(?=(?:[pnuµμm]F?|MFD?)(?:\s|/|$))", r"\1", value)  # "100 µ / 16 V"
    first = joined.split()[0] if joined else ""
    description = " ".join(cells.get(k, "") for k in ("note", "type")) + f" {more} {value}"
    type_ = cells.get("type") or next((word for word in value.replace("/", " ").split() if valve_kind(word)), "")
    return guess_kind(ref, description, first.split("/")[0], type_)


def _figures(part: dict, cells: dict, percent: bool, wrong: list) -> list[str]:
    """Value and ratings of a row; returns the words of its value cell that are none."""
    rest: list[str] = []
    if cells.get("value") and part["kind"] in WORDED:
        rest = cells["value"].split()
    elif cells.get("value"):
        try:
            rest = _value_and_ratings(part, cells["value"])
        except ChecksError as error:
            wrong.append(("value", part_error(error)))
    if volts := volts_in_type(
        part["kind"], f"{cells.get('type', '')} {cells.get('value', '')} {cells.get('note', '')}"
    ):
        part.setdefault("value", volts)
    cells = by_unit(cells, part["kind"])
    for key in ("tolerance", *FIELD_UNITS):
        if cells.get(key):
            try:
                part[key] = read_field(key, cells[key], percent=percent)
            except ChecksError as error:
                wrong.append((key, part_error(error)))
    if part["kind"] == "inductor" and "ohms" not in part and (ohms := _OHMS.findall(cells.get("note", ""))):
        part |= {"ohms": f"{ohms[0].replace(',', '.')} Ω"} if len(ohms) == 1 else {}
    if part["kind"] == "fuse" and "amps" in part and "value" not in part:
        part["value"] = part.pop("amps")
    add_from_words(part, f"{cells.get('type', '')} {cells.get('note', '')}")
    return rest


def _value_and_ratings(part: dict, text: str) -> list[str]:
    """Put what a value cell gives into the part; returns its other words. A regulator's 7812 is its type."""
    if part["kind"] in REGULATORS and volts_in_type(part["kind"], text):
        return text.split()
    cell = read_cell(text, part["kind"])
    part |= cell.figures
    return cell.rest


def _words(part: dict, cells: dict, rest: list[str]) -> None:
    """Words of the value cell are the type of what is known by one, and a note on all else."""
    note = [cells["note"]] if cells.get("note") else []
    sort = cells.get("kind", "")
    if sort and not named_kind(sort) and not names_kind(sort) and sort not in note:
        note.insert(0, sort)  # "Lautsprecherklemme rot" says more than that it is a connector
    if cells.get("type") and part["kind"] not in TYPED and re.search(r"[^\W\d_]{4,}", cells["type"]):
        note = [cells["type"], *(words for words in note if words != cells["type"])]  # "Metallschicht, Anode"
    elif cells.get("type"):
        part["type"] = cells["type"]
    elif rest and part["kind"] in TYPED:
        part["type"], rest = rest[0].split("/")[0], rest[1:]
    if rest:
        note.insert(0, " ".join(rest))
    if note:
        part["note"] = "; ".join(note)[:300]
    for key in ("bag", "base"):
        if cells.get(key):
            part[key] = cells[key].removeprefix("Bag ").strip() if key == "bag" else cells[key]


def _count(text: str) -> str:
    """The number of "2 off matched" and "4 pcs."; with a second number in it the text stays."""
    return re.sub(r"(?i)(?<=\d)\s*(?:x|×|pcs?\b|off\b|[a-zäöüé]{3,})[^\d]*$", "", text).removesuffix(".0")


def _quantity(part: dict, cells: dict, wrong: list) -> None:
    text = cells.get("quantity", "")
    if not text:
        return
    plain = _count(text)
    if plain.isascii() and plain.isdigit() and len(plain) <= 3 and int(plain) >= 1:
        if int(plain) > 1:
            part["quantity"] = int(plain)
    elif part["kind"] == "hardware" and _LENGTH.fullmatch(text):
        part["note"] = f"{part.get('note', '')}; {text}"[:300]  # "0.5" of a wire
    else:
        wrong.append(("quantity", part_error(ChecksError("quantity", code="quantity", typed=text))))


def _ends(part: dict, cells: dict, wrong: list) -> None:
    """The two points of a two-ended part, where the list has columns for them."""
    ends = [cells.get("from", ""), cells.get("to", "")]
    if not any(ends):
        return
    if part["kind"] in LISTED and all(ends):
        part["joins"] = ends
    elif part["kind"] == "diode" and all(ends):
        part["joins"] = {"anode": ends[0], "cathode": ends[1]}
    elif not all(ends):
        wrong.append(("from", part_error(ChecksError("ends", code="one-end"))))
