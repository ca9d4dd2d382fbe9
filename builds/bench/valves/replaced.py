"""A valve that takes another's place in a socket: what was read there of the one before says nothing of it."""

from datetime import datetime

from builds.bench.models import Build, FittedValve
from builds.guides.circuit.specs import specs_or_none
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check
from checks.circuit.netlist.terminals import is_heater
from checks.diagnosis.overload import node_of

Why = FittedValve.Why
SWAPS = (Why.DOUBT, Why.FAULTY, Why.PLACES)
CHASSIS = "chassis"


def reopen_checks(build: Build, ref: str) -> int:
    """Let no reading at this socket pass its check any longer; it stays on record. Returns how many passed. Nothing
    changes once a build is signed off."""
    if build.finished_at:
        return 0
    return build.statuses.filter(check_row__in=checks_at(build, ref), passed=True).update(passed=False)


def is_changed_since(build: Build, check: Check, moment: datetime) -> bool:
    """Was a valve that this check reads changed, or tested, after a moment? One query where none was."""
    swapped = build.valves.filter(why__in=SWAPS, at__gt=moment).order_by().values_list("ref")
    tested = build.valve_tests.filter(at__gt=moment).order_by().values_list("ref")
    refs = {ref for (ref,) in swapped.union(tested)}
    return any(check in checks_at(build, ref) for ref in refs)


def checks_at(build: Build, ref: str) -> list[Check]:
    """The powered checks that read an electrode of this valve, or the current through it. Where neither circuit nor
    probes tell which those are, all that are read with the valve in its socket."""
    guide = load_guide(build.revision)
    with_valve = [
        check
        for stage in guide.stages
        if stage.is_powered and ref not in stage.not_fitted
        for check in stage.checks.all()
    ]
    parts = specs_or_none(guide) or ()
    nodes = _electrodes(parts, ref)
    at_socket = [check for check in with_valve if _reads(check, parts, ref, nodes)]
    return at_socket or with_valve


def _electrodes(parts, ref: str) -> set[str]:
    """The nodes of all but its heater."""
    joins = {t: n for p in parts if p.ref == ref for t, n in p.joins.items()}
    return {node for terminal, node in joins.items() if not is_heater(terminal)} - {CHASSIS}


def _reads(check: Check, parts, ref: str, nodes: set[str]) -> bool:
    points = {check.red, check.black}
    ends = {n for p in parts if check.through and p.ref == check.through for n in p.joins.values()}
    return any(point.startswith(f"{ref}.") for point in points) or bool(
        ({node_of(parts, point) for point in points} | ends) & nodes
    )
