"""The valves of a build: its sockets, noting what is fitted, and what was in a socket at a given moment."""

from bisect import bisect_right
from collections import defaultdict
from datetime import datetime

from builds.bench.gates.facts import load_facts
from builds.bench.models import Build, FittedValve
from builds.bench.readings.entry_keys import add_once
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.shape import VALVES

Why = FittedValve.Why


def sockets(build: Build) -> list:
    """The guide's valves, in the order of its parts list."""
    return list_sockets(build.revision)


def list_sockets(revision) -> list:
    return [part for part in load_guide(revision).parts.values() if part.kind in VALVES]


def sockets_without_note(build: Build, stage, fitted: dict[str, list[FittedValve]] | None = None) -> list[str]:
    """Sockets that hold a valve in this powered stage of which nothing was noted yet. One query unless `fitted` is at
    hand."""
    if not stage.is_powered:
        return []
    holding = [part.ref for part in sockets(build) if part.ref not in stage.not_fitted]
    known = fitted if fitted is not None else by_socket(build) if holding else {}
    return [ref for ref in holding if ref not in known]


def by_socket(build: Build, before_entry=None) -> dict[str, list[FittedValve]]:
    """Socket -> its valves as they followed each other, corrections of slips already made. `before_entry`: as it was
    before the entry of this key."""
    rows = build.valves.exclude(entry_key=before_entry) if before_entry else build.valves.all()
    return in_order(rows)


def in_order(rows) -> dict[str, list[FittedValve]]:
    """The same of rows of one build, oldest first. A slip's correction takes the moment of the row it corrects."""
    by_position: dict[str, list[FittedValve]] = defaultdict(list)
    for row in rows:
        before = by_position[row.ref]
        if row.why == Why.SLIP and before:
            row.at, row.why = before[-1].at, before[-1].why
            before[-1] = row
        else:
            before.append(row)
    return dict(by_position)


def at_moment(valves: list[FittedValve], moment: datetime) -> FittedValve | None:
    """The valve that was in a socket. What was read before anything was noted is taken to be the first one's."""
    if not valves:
        return None
    return valves[max(0, bisect_right([v.at for v in valves], moment) - 1)]


def note_fitted(
    build: Build, ref: str, make: str, code: str, why: str, *, entry_key, by, type_: str = ""
) -> FittedValve:
    """Note a valve; `type_` is empty for the guide's own. The same entry sent twice gives back the row it made. Raises
    UsedKey."""
    entered = {"build": build, "ref": ref, "type": type_, "make": make, "code": code, "why": why, "by": by}
    return add_once(FittedValve, entry_key, entered, at=load_facts(build).dated())[0]


def carry_valves(old: Build, new: Build) -> None:
    """The valves of a moved build go along with it, in the order they were fitted."""
    FittedValve.objects.bulk_create(
        [
            FittedValve(build=new, ref=v.ref, type=v.type, make=v.make, code=v.code, why=v.why, by=v.by, at=v.at)
            for valves in by_socket(old).values()
            for v in valves
        ]
    )


def make_key(make: str) -> str:
    """Makes are typed by hand: the same one in capitals, or with other blanks and points, is the same make."""
    return "".join(c for c in make.casefold() if c.isalnum())
