"""The wiring of a draft as a table: each end of each part with the point it joins; and a list of wires, from – to."""

import re
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from builds.guides.circuit.specs import spec_or_none
from builds.guides.editor.edits import one_edit
from builds.guides.editor.judging import changed_rows, judge_tables
from builds.guides.editor.renaming import rename_point, rename_translations
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.parts_import.delimited import read_delimited
from builds.guides.wiring.ends import End, list_ends
from builds.guides.wiring.wires import ends_by_point, wire
from builds.ui.messages.errors import message_for
from builds.ui.messages.parts_list import circuit_message, part_message
from checks.circuit import part_from_mapping, parts_list_errors
from checks.circuit.netlist.parts import TRANSFORMERS
from checks.errors import ChecksError

_BETWEEN = re.compile(r"\s*(?:->|=>|→|↔)\s*|\s+(?:[-–—]|to|nach)\s+|\s+")
_PART_END = re.compile(r"[^\W\d_]{1,4}\d{1,4}[^\W\d_]?\.\S+")


@dataclass
class Wiring:
    """What came of a posted table: errors by row (an end's address, or a line), and what else is wrong."""

    errors: dict[object, str] = field(default_factory=dict)
    general: list[str] = field(default_factory=list)
    moved: list[str] = field(default_factory=list)  # ends that were wired elsewhere meanwhile
    renamed: dict[str, str] = field(default_factory=dict)  # points whose ends all went to a new one
    stranded: list[str] = field(default_factory=list)  # checks that are read where nothing is joined any more

    @property
    def is_good(self) -> bool:
        return not (self.errors or self.general or self.moved)


_END = re.compile(r"end-(.{1,80}\..{1,60})")  # whatever the part is called: only ends that there are count


def posted_ends(posted) -> list[tuple[str, str, str]]:
    """(end, what it joined when it was shown, what it shall join) of a posted table."""
    ends = {match[1]: posted[name] for name in posted if (match := _END.fullmatch(name))}
    return [(name, posted.get(f"was-{name}", ""), to) for name, to in ends.items()]


def trial_parts(parts: list[dict], posted: list[tuple[str, str, str]]) -> list[dict]:
    """The parts with the table's ends as typed, as far as they can be read; for looking at, not for saving."""
    changed = [(name, was, to.strip()) for name, was, to in posted if to.strip() != was]
    wires = [(name, name, to) for name, _was, to in changed if to]
    return wire(parts, wires, anew=frozenset(name for name, _was, _to in changed)).parts


class _Refused(Exception):
    pass


def save_table(draft, person, posted: list[tuple[str, str, str]]) -> Wiring:
    """Save ends as (address by terminal, what it joined when it was shown, what it shall join) as one edit."""
    state = Wiring()
    changed = [(name, was, to.strip()) for name, was, to in posted if to.strip() != was]
    _carry_out(draft, person, state, lambda parts: _moved(parts, changed, state))
    return state


def _moved(parts: list[dict], changed, state: Wiring) -> list[dict]:
    now = {f"{end.ref}.{end.terminal}": end.point for row in parts for end in list_ends(row)}
    for name, was, to in changed:
        if now.get(name, "") not in (was, to):
            state.moved.append(
                _("%(end)s: joined to %(saved)s elsewhere in the meantime, %(typed)s here.")
                % {"end": name, "saved": now.get(name) or "–", "typed": to or "–"}
            )
    wires = [(name, name, to) for name, _was, to in changed if to and name in now]
    net = wire(parts, wires, anew=frozenset(name for name, _was, _to in changed))
    state.errors |= {key: wire_message(error) for key, error in net.errors.items()}
    return net.parts


def _ends_in(cells: list[str]) -> list[str]:
    """The ends of a line: in one cell apart by spaces or an arrow; behind the second only what is an end of a part, for
    a wire's colour may stand there too."""
    if len(cells) == 1:
        cells = [*filter(None, _BETWEEN.split(cells[0].strip()))]
    return cells[:2] + [cell for cell in cells[2:] if _PART_END.fullmatch(cell)]


def save_list(draft, person, text: str) -> Wiring:
    """Add the wires of a pasted list, two columns a line."""
    state = Wiring()
    rows = [_ends_in([cell for cell in row if cell]) for row in read_delimited(text) if any(row)]
    lines = [(n, row) for n, row in enumerate(rows, 1) if [c.lower() for c in row[:2]] != ["from", "to"]]
    for n, row in lines:
        if len(row) < 2:
            state.errors[n] = _("A wire has two ends, such as: V1.6, R7.a")
    wires = [(n, row[0], end) for n, row in lines for end in row[1:]]

    def added(parts):
        net = wire(parts, wires)
        state.errors |= {key: wire_message(error) for key, error in net.errors.items()}
        return net.parts

    _carry_out(draft, person, state, added)
    return state


def _carry_out(draft, person, state: Wiring, change) -> None:
    """Change the parts as one edit; nothing is saved where anything is wrong."""
    try:
        with one_edit(draft, person, "wiring") as before:
            after = before | {"part": change(before["part"])}
            if state.is_good:
                after = _follow_points(draft, before, after, state)
                _judge(draft, before, after, state)
            if not state.is_good:
                raise _Refused
            apply_tables(draft, after)
    except _Refused:
        pass


def _follow_points(draft, before: dict, after: dict, state: Wiring) -> dict:
    """Checks and words of a point that has another name now go with it; who is left at a point that nothing joins is
    told."""
    old, new = (dict(ends_by_point(data["part"])) for data in (before, after))
    taken = {row["node"] for row in before["point"]}
    at = {f"{end.ref}.{end.terminal}": point for point, ends in new.items() for end in ends}
    for point in old.keys() - new.keys():
        places = {at.get(f"{end.ref}.{end.terminal}", "") for end in old[point]}
        name = places.pop() if len(places) == 1 else ""
        if name and name not in old and name not in taken:
            state.renamed[point] = name
            after = rename_point(after, point, name)
            after["point"] = [row | {"node": name} if row["node"] == point else row for row in after["point"]]
            rename_translations(draft, ("point", point), ("point", name))
    lost = (old.keys() - new.keys()) - state.renamed.keys()
    checks = [check for stage in after["stage"] for check in stage.get("check", [])]
    for point in sorted(lost):
        titles = [check["title"] for check in checks if point in (check["red"], check.get("black"))]
        if titles:
            state.stranded.append(
                _("Nothing is joined to %(point)s any more, and these checks are read there: %(checks)s.")
                % {"point": point, "checks": ", ".join(titles)}
            )
    return after


def _judge(draft, before: dict, after: dict, state: Wiring) -> None:
    pictures = frozenset(draft.pictures.values_list("name", flat=True))
    verdict = judge_tables(before, after, pictures, changed_rows("part", before["part"], after["part"], "ref"))
    state.general += [f"{problem.label}: {problem.message}" for problem in (*verdict.own, *verdict.dangers)]


def wire_message(error: ChecksError) -> str:
    p = error.params
    sentences = {
        "no-end": lambda: _("%(ref)s has no end “%(typed)s”. It has: %(ends)s.") % (p | {"ends": ", ".join(p["ends"])}),
        "no-part": lambda: _("%(ref)s is not in the parts list.") % p,
        "no-point": lambda: (
            _("“%(typed)s” cannot be a point. Write a name such as ht.main, or an end such as V1.6.") % p
        ),
        "two-points": lambda: (
            _("This joins points with different names: %(points)s. Give them one name.")
            % {"points": ", ".join(p["points"])}
        ),
    }
    return sentences[error.code]() if error.code in sentences else message_for(error)


@dataclass(frozen=True)
class EndRow:
    end: End
    label: str
    point: str
    error: str = ""


def table_rows(parts: list[dict], posted: dict[str, str], errors: dict) -> list[EndRow]:
    """Every end with its point (as posted, after a refusal) and what is wrong there."""
    wrong = _part_errors(parts)
    rows, shown = [], set()
    for row in parts:
        for end in list_ends(row):
            name = f"{end.ref}.{end.terminal}"
            error = errors.get(name, "")
            if (
                not error
                and end.ref in wrong
                and end.ref not in shown
                and wrong[end.ref].terminal in ("", end.terminal)
            ):
                error = wrong[end.ref].message
                shown.add(end.ref)
            rows.append(EndRow(end, _label(end), posted.get(name, end.point), error))
    return rows


def _label(end: End) -> str:
    terminal = end.terminal.replace("_", " ").replace(".", " ")
    if end.pin:
        return _("pin %(pin)s, %(electrode)s") % {"pin": end.pin, "electrode": terminal}
    return terminal


@dataclass(frozen=True)
class PartError:
    """What is wrong with a part, and the end it is about; without one it stands at the part's first row."""

    message: str
    terminal: str = ""


def _error_of(error: ChecksError, row: dict) -> PartError:
    terminal = str(error.params.get("key", "")).removeprefix("joins.")
    return PartError(part_message(error), terminal if terminal in {end.terminal for end in list_ends(row)} else "")


def _part_errors(parts: list[dict]) -> dict[str, PartError]:
    """What is wrong with parts that are wired, by reference; a part without any wire is told once for all."""
    errors, specs = {}, []
    for row in parts:
        ends = list_ends(row)
        if not any(end.point for end in ends):
            continue
        if len(ends) == 2 and ends[0].point == ends[1].point:
            errors[row["ref"]] = PartError(_("Both ends are joined to the same point."))
        try:
            specs.append(part_from_mapping(row))
        except ChecksError as error:
            errors.setdefault(row["ref"], _error_of(error, row))
    if not errors and specs:
        for whole in parts_list_errors(specs):
            errors.setdefault(whole.params.get("ref", ""), PartError(circuit_message(whole)))
    return errors


def unwired(row: dict) -> list[str]:
    """The part where none of its ends is joined, or the section of a twin valve where the other one is; a transformer
    that has no windings yet, too."""
    ends = list_ends(row)
    if (ends or row.get("kind") in TRANSFORMERS) and not any(end.point for end in ends):
        return [row["ref"]]
    sections = {end.terminal[0] for end in ends if end.terminal[1:2] == "."} if row["kind"] == "twin triode" else set()
    bare = [s for s in sorted(sections) if not any(end.point for end in ends if end.terminal.startswith(f"{s}."))]
    return [f"{row['ref']}{s}" for s in bare] if len(bare) < len(sections) else []


def circuit_overview(draft) -> dict:
    """What meets where, ends that meet nothing, and parts that have no wire yet."""
    parts = as_tables(draft)["part"]
    points = ends_by_point(parts)
    return {
        "parts": parts,
        "points": points,
        "lonely": [point for point, ends in points if len(ends) == 1],
        "unwired": [name for row in parts for name in unwired(row)],
        "without_ends": [row["ref"] for row in parts if not list_ends(row) and "transformer" in row.get("kind", "")],
        "readable": sum(spec_or_none(row) is not None for row in parts),
    }
