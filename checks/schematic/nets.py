"""Which nets are chassis, mains, heater lines and supply rails: these are named by flags, all others are wired."""

from dataclasses import dataclass, field

from checks.circuit.netlist.regulation import is_primary_name
from checks.circuit.netlist.transistors import MAIN, TRANSISTORS, find_control
from checks.schematic.model import CHASSIS, SectionKind, Unit

TWO_ENDED = ("resistor", "inductor", "fuse", "link", "switch", "lamp", "thermistor", "diode", "zener", "potentiometer")
CAPACITORS = ("capacitor", "electrolytic")
_BYPASSED_MOST = 3  # ends of a net that only holds a screen grid


def is_control(unit: Unit, terminal: str) -> bool:
    """Is this an end that a signal goes into and no current to speak of?"""
    if unit.kind in TRANSISTORS:
        return terminal == find_control(unit.kind)
    return terminal.rpartition(".")[2] == "grid" or terminal in ("plus_input", "minus_input")


def is_device(unit: Unit) -> bool:
    return unit.kind in (*TRANSISTORS, "triode", "twin triode", "pentode", "op-amp")


@dataclass
class Nets:
    """The nets of a circuit by what they are for."""

    units: list[Unit]
    at: dict[str, list[tuple[Unit, str]]] = field(default_factory=dict)
    mains: set[str] = field(default_factory=set)
    secondary: set[str] = field(default_factory=set)
    heaters: set[str] = field(default_factory=set)
    rails: set[str] = field(default_factory=set)

    def has_cap_to_chassis(self, net: str) -> bool:
        return any(unit.kind in CAPACITORS and CHASSIS in unit.nets for unit, _t in self.at.get(net, ()))

    def around(self, start: set[str], stop: set[str]) -> list[tuple[Unit, str]]:
        """Every end that is reached from these nets through passive parts, without passing a net of `stop`."""
        seen, todo, ends = set(), list(start - stop), []
        while todo:
            net = todo.pop()
            if net in seen:
                continue
            seen.add(net)
            for unit, terminal in self.at.get(net, ()):
                ends.append((unit, terminal))
                if unit.kind in (*TWO_ENDED, *CAPACITORS):
                    todo += unit.nets - seen - stop
        return ends

    @property
    def flagged(self) -> set[str]:
        return {CHASSIS} | self.rails | self.heaters | self.mains

    def find_section(self, unit: Unit) -> SectionKind:
        nets = unit.nets - {CHASSIS}
        if unit.kind == "heater":
            return SectionKind.HEATERS
        if unit.kind == "mains transformer" or not nets:
            return SectionKind.SUPPLY
        if nets <= self.heaters and not is_device(unit) and unit.kind not in ("bridge", "diode", "regulator"):
            return SectionKind.HEATERS
        supply = self.rails | self.heaters | self.mains | self.secondary
        if is_device(unit):
            main = {unit.joins.get(t, "") for t in MAIN.get(unit.kind, ())}
            return (
                SectionKind.SUPPLY if main and main <= supply - {CHASSIS} and self._passes(unit) else SectionKind.SIGNAL
            )
        if unit.kind == "output transformer":
            return SectionKind.SIGNAL
        if nets <= supply or unit.kind in ("rectifier valve", "bridge", "regulator", "negative regulator"):
            return SectionKind.SUPPLY
        return SectionKind.SIGNAL

    def _passes(self, unit: Unit) -> bool:
        """Does a transistor hand one rail on to another?"""
        return all(unit.joins.get(t, "") in self.rails | self.secondary | self.heaters for t in MAIN[unit.kind])


def read_nets(units: list[Unit]) -> Nets:
    nets = Nets(units)
    for unit in units:
        for terminal, net in unit.joins.items():
            if net:
                nets.at.setdefault(net, []).append((unit, terminal))
    _find_mains(nets)
    _find_heaters(nets)
    _find_rails(nets)
    return nets


def _find_mains(nets: Nets) -> None:
    start: set[str] = set()
    secondary: set[str] = set()
    for unit in nets.units:
        if unit.kind == "mains transformer":
            for name, terminals, _words in unit.windings:
                joined = {unit.joins[t] for t in terminals if unit.joins.get(t)}
                (start if is_primary_name(name) else secondary).update(joined)
    nets.mains = _spread(nets, start - {CHASSIS}, ("fuse", "switch", "thermistor", "link", "resistor", "capacitor"))
    nets.secondary = secondary - nets.mains - {CHASSIS} - _rectified(nets)


def _rectified(nets: Nets) -> set[str]:
    """The cathodes of rectifier valves: where heated directly, an end of the heater's winding is one."""
    return {unit.joins.get("cathode", "") for unit in nets.units if unit.kind == "rectifier valve"} - {""}


def _spread(nets: Nets, start: set[str], kinds: tuple[str, ...]) -> set[str]:
    reached, todo = set(start), list(start)
    while todo:
        for unit, _terminal in nets.at.get(todo.pop(), ()):
            if unit.kind in kinds:
                new = unit.nets - reached - {CHASSIS}
                reached |= new
                todo += new
    return reached


def _find_heaters(nets: Nets) -> None:
    start = {net for unit in nets.units if unit.kind == "heater" for net in unit.nets}
    cathodes = {
        net
        for unit in nets.units
        if is_device(unit)
        for t, net in unit.joins.items()
        if t.rpartition(".")[2] == "cathode"
    }
    nets.heaters = start - {CHASSIS} - cathodes - _rectified(nets)


def _find_rails(nets: Nets) -> None:
    """From what rectifies and feeds, through what is in series, as far as nets are held by a capacitor."""
    todo = [net for net in _fed(nets) if not _is_signal(nets, net)]
    rails: set[str] = set()
    while todo:
        net = todo.pop()
        if net in rails or net == CHASSIS or not net:
            continue
        rails.add(net)
        todo += [n for n in _next_rails(nets, net) if n not in rails]
    nets.rails = rails - nets.heaters - nets.secondary


def _fed(nets: Nets):
    """Nets that a rectifier, a supply or a regulator feeds."""
    for unit in nets.units:
        if unit.kind in ("diode", "rectifier valve") and unit.nets & (alternating := _alternating(nets)):
            yield from unit.nets - alternating
        elif unit.kind == "bridge":
            yield from (unit.joins.get("plus", ""), unit.joins.get("minus", ""))
        elif unit.kind in ("dc supply", "battery"):
            yield from unit.nets
        elif unit.kind in ("regulator", "negative regulator"):
            yield from (unit.joins.get("input", ""), unit.joins.get("output", ""))


def _alternating(nets: Nets) -> set[str]:
    """Ends of windings, and what one part brings from there to a diode, as a bias supply may have it."""
    reached = set(nets.secondary)
    for unit in nets.units:
        ends = unit.nets - nets.secondary - {CHASSIS}
        if unit.kind in ("resistor", *CAPACITORS) and unit.nets & nets.secondary and len(ends) == 1:
            (end,) = ends
            others = [u for u, _t in nets.at[end] if u.key != unit.key]
            if others and all(u.kind == "diode" for u in others):
                reached.add(end)
    return reached


def _next_rails(nets: Nets, net: str):
    for unit, terminal in nets.at.get(net, ()):
        if unit.kind in TWO_ENDED:
            others = set(unit.nets) - {net, CHASSIS}
        elif unit.kind in TRANSISTORS and terminal == MAIN[unit.kind][0]:
            others = {unit.joins.get(MAIN[unit.kind][1], "")}
        else:
            continue
        for other in others:
            if other and other not in nets.secondary and _is_rail(nets, other):
                yield other


def _is_rail(nets: Nets, net: str) -> bool:
    ends = nets.at.get(net, [])
    if _is_signal(nets, net) or _only_a_screen(ends):
        return False
    if nets.has_cap_to_chassis(net):
        return True
    return (
        len(ends) == 2
        and all(unit.kind in (*TWO_ENDED, "connector") for unit, _t in ends)
        and CHASSIS not in {n for unit, _t in ends for n in unit.nets}
    )


def _is_signal(nets: Nets, net: str) -> bool:
    """Does a grid, a gate, a base or a valve's cathode hang on it?"""
    return any(
        is_control(unit, t) or (is_device(unit) and t.rpartition(".")[2] == "cathode")
        for unit, t in nets.at.get(net, ())
    )


def _only_a_screen(ends) -> bool:
    devices = [t for unit, t in ends if is_device(unit)]
    return devices == ["screen"] and len(ends) <= _BYPASSED_MOST
