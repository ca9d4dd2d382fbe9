"""What a stage's readings say together: currents and dissipations, worked out from the parts list."""

from dataclasses import replace

from builds.guides.circuit.specs import specs_or_none
from builds.guides.guide_cache import Guide
from builds.ui.messages.derived import other_source, socket_source
from checks.derived import CHASSIS, Derived, Estimate, derive
from checks.outcomes import Outcome


def list_derived(guide: Guide, statuses) -> list[Derived]:
    """`statuses`: [(check, status)] of one powered stage, the status with its latest reading at hand or None."""
    parts = specs_or_none(guide)
    pins = {f"{part.ref}.{pin}": part.joins[terminal] for part in parts for pin, terminal in part.pins.items()}
    volts: dict[str, Estimate] = {}
    heaters: dict[str, Estimate] = {}
    for check, status in statuses:
        reading = status and status.latest
        if reading is None or reading.at_reference is None or reading.outcome == Outcome.SWITCH_OFF:
            continue
        if status.is_outdated:  # it was another valve's: no current or dissipation of this one
            continue
        red, black = pins.get(check.red, check.red), pins.get(check.black, check.black)
        known = Estimate(reading.at_reference, reading.u)
        if check.measure == "dc volts" and black == CHASSIS:
            volts[red] = known
        elif check.measure == "current":
            volts |= _from_current(parts, check.through, known)
        elif check.measure == "ac volts":
            heaters |= {part.ref: known for part in parts if _heater(part) == {red, black}}
    names = {pins.get(check.red, check.red): check.red for check, status in statuses if status}
    derived = derive(parts, volts, heaters) if volts or heaters else []
    return [replace(d, of=_read_where(d.of, names, guide)) for d in derived]


def _read_where(nodes, names: dict, guide: Guide) -> tuple[str, ...]:
    """Where the readings were taken, as the builder knows it: ("V2 pins 7 and 3", "R10")."""
    probes = [guide.probes.probe(names.get(node, node)) for node in nodes if node != CHASSIS]
    sockets = dict.fromkeys(probe.ref for probe in probes if probe.ref)
    pins = {ref: [p.pin for p in probes if p.ref == ref] for ref in sockets}
    at_sockets = [socket_source(ref, numbers) for ref, numbers in pins.items()]
    return (*at_sockets, *dict.fromkeys(other_source(probe.location) for probe in probes if not probe.ref))


def _from_current(parts, ref: str, amps: Estimate) -> dict:
    """The node above a resistor to chassis whose current was read."""
    part = next((p for p in parts if p.ref == ref and p.value), None)
    ends = set(part.joins.values()) if part else set()
    if part is None or CHASSIS not in ends or len(ends) != 2:
        return {}
    return {(ends - {CHASSIS}).pop(): Estimate(amps.value * part.value, amps.u * part.value)}


def _heater(part) -> set:
    return {part.joins.get("heater.1"), part.joins.get("heater.2")}
