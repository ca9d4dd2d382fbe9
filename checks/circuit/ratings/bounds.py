"""What the parts between two points are made for: no figure or band should be proposed beyond it."""

from collections.abc import Iterable

from checks.circuit.netlist.parts import PartSpec
from checks.circuit.netlist.terminals import VALVES


def node_at(parts: dict[str, PartSpec], probe: str) -> str:
    """The node a probe point names: a pin of a socket ("V2.7") or the node itself. Unknown pins give the text back."""
    ref, _, pin = probe.partition(".")
    part = parts.get(ref)
    terminal = part.pins.get(pin) if part and pin else None
    return part.joins.get(terminal, probe) if part and terminal else probe


def rated_volts(parts: Iterable[PartSpec], red: str, black: str) -> tuple[float, str] | None:
    """(volts, reference) of the part with the least voltage rating right between two points; None where none is rated.

    Capacitors by their rating; valves by the limits of anode and screen to the cathode. With chassis for the cathode a
    valve's limit is taken as it stands, which errs on the careful side by the cathode's own few volts.
    """
    by_ref = {part.ref: part for part in parts}
    ends = {node_at(by_ref, red), node_at(by_ref, black)}
    if len(ends) != 2:
        return None
    ratings = [row for part in by_ref.values() for row in _rated(part, ends)]
    return min(ratings, default=None)


def _rated(part: PartSpec, ends: set[str]):
    if part.kind in ("capacitor", "electrolytic") and part.volts and set(part.joins.values()) == ends:
        yield part.volts, part.ref
    if part.kind in VALVES:
        for electrode in ("anode", "screen"):
            limit = part.limits.get(f"{electrode}_volts")
            for terminal, node in part.joins.items():
                section, _, name = terminal.rpartition(".")
                cathode = part.joins.get(f"{section}.cathode" if section else "cathode")
                if limit and name == electrode and node in ends and ends - {node} <= {cathode, "chassis"}:
                    yield limit, part.ref
