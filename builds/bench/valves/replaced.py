"""A valve that takes another's place in a socket: what was read there of the one before says nothing of it."""

from collections import Counter
from datetime import datetime

from django.db.models import Q, Value

from builds.bench.models import Build, Erratum, ErratumSeen, FittedValve
from builds.bench.readings.bench_then import is_on_other_mains
from builds.bench.readings.resting import with_figures
from builds.guides.alternatives import permitted_types
from builds.guides.circuit.specs import specs_or_none
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check
from checks.circuit.netlist.terminals import VALVES, is_heater
from checks.diagnosis.overload import find_node

Why = FittedValve.Why
SWAPS = (Why.DOUBT, Why.FAULTY, Why.PLACES)
CHASSIS = "chassis"


def changed_with(build: Build, ref: str, why: str) -> list[str]:
    """The sockets whose valve may be another one now. Two that changed places are noted one after the other, and the
    second may never be: whatever takes a type that this one takes is read again, unless it was noted as often."""
    if why != Why.PLACES:
        return [ref]
    parts = load_guide(build.revision).parts
    types = {part.ref: {*permitted_types(part)} for part in parts.values() if part.kind in VALVES}
    noted = Counter(build.valves.filter(why=Why.PLACES).order_by().values_list("ref", flat=True))
    like = [o for o in types if o != ref and types[o] & types.get(ref, set())]
    return [ref, *(other for other in like if noted[other] < noted[ref])]


def reopen_checks(build: Build, *refs: str) -> int:
    """Let no reading at these sockets pass its check any longer, nor one that came along from an earlier revision; it
    stays on record. Returns how many passed. Nothing changes once a build is signed off."""
    if build.finished_at:
        return 0
    rows = {check for ref in refs for check in checks_at(build, ref)}
    return let_pass_no_longer(build, rows)


def let_pass_no_longer(build: Build, rows) -> int:
    """Returns how many of these checks passed, with what is worked out from them. A stage with one of them is finished
    no longer."""
    rows = with_figures(rows)
    unread = build.carried.filter(check_row__in=rows).exclude(check_row__in=build.statuses.values("check_row"))
    lost = unread.count() + build.statuses.filter(check_row__in=rows, passed=True).update(passed=False)
    build.carried.filter(check_row__in=rows).delete()
    if lost:
        build.visits.filter(stage__in={row.stage_id for row in rows}).update(done_at=None)
    return lost


def is_changed_since(build: Build, check: Check, moment: datetime) -> bool:
    """Was a valve that this check reads changed, or tested, after a moment, or the build put on other mains, or is the
    check corrected by what its builder had not read by then, or were its figures set back since? Three queries where
    none was."""
    if check.stage.is_powered and is_on_other_mains(build, moment):
        return True
    read = ErratumSeen.objects.filter(build=build, at__lte=moment).values("erratum")
    unread = Q(withdrawn_at=None) & ~Q(pk__in=read)
    set_back = Q(withdrawn_at__gt=moment, correction__isnull=False)
    if Erratum.objects.filter(unread | set_back, check_row=check).exists():
        return True
    swapped = build.valves.filter(why__in=SWAPS, at__gt=moment).order_by().values_list("ref", "why")
    tested = build.valve_tests.filter(at__gt=moment).order_by().values_list("ref", Value(""))
    refs = {one for ref, why in swapped.union(tested) for one in changed_with(build, ref, why)}
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
        ({find_node(parts, point) for point in points} | ends) & nodes
    )
