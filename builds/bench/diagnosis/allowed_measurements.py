"""Which readings a builder may be asked for now: the one rule of bench, designer's pages, fault summary and mail.

Nothing live while a stop stands on the build or a reading may mean an overload, whichever check is in view and whoever
made the kit safe since; nothing behind a gate; nothing of a part that is not fitted yet.
"""

from dataclasses import dataclass
from functools import cached_property

from builds.bench.diagnosis.overloads import must_power_be_off
from builds.bench.gates import gating
from builds.bench.gates.facts import Facts, load_facts
from builds.bench.models import Build
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check
from checks.circuit.netlist.terminals import VALVES


@dataclass(frozen=True)
class AllowedMeasurements:
    """May a Place of the fault dictionary be read next, while `check` is off?"""

    build: Build
    check: Check
    facts: Facts

    def __call__(self, place) -> bool:
        if place.check and place.stage not in self.reached:
            return False
        if place.power != "off":
            return self.live and place.stage == self.check.stage.key
        return self.wired or bool(place.check)

    def allows_check(self, check: Check) -> bool:
        """May a builder be sent to this check of the guide?"""
        return self.live or not check.stage.is_powered

    @property
    def stopped(self) -> bool:
        return is_stopped(self.facts)

    @cached_property
    def live(self) -> bool:
        """May anything be read with the power on?"""
        return not is_stopped(self.facts) and not must_power_be_off(self.build, self.facts)

    @cached_property
    def reached(self) -> frozenset[str]:
        return frozenset(_reached(self.build, self.facts))

    @cached_property
    def wired(self) -> bool:
        return is_wired(self.build, self.facts)


def allowed_measurements(build: Build, check: Check, facts: Facts | None = None) -> AllowedMeasurements:
    """What may be asked for while `check` is off. One query, none where the facts are at hand."""
    return AllowedMeasurements(build, check, facts or load_facts(build))


def is_stopped(facts: Facts) -> bool:
    """Does a reading past its stop limit stand on any check of the build?"""
    return bool(facts.stops)


def is_wired(build, facts: Facts | None = None) -> bool:
    """Is every step done that fits a part other than a valve? Before that a reading in the circuit says nothing of its
    parts."""
    facts = facts or load_facts(build)
    guide = load_guide(build.revision)
    valves = {part.ref for part in guide.parts.values() if part.kind in VALVES}
    return all(
        step.pk in facts.ticked for stage in guide.stages for step in stage.steps.all() if set(step.parts) - valves
    )


def _reached(build, facts: Facts) -> set[str]:
    """Keys of the stages up to the first gate that is not passed, without those the designer has shut."""
    reached = set()
    for state in gating.stage_states(build, facts):
        if state.stage.pk not in facts.halts:
            reached.add(state.stage.key)
        if state.stage.gate and not state.complete:
            break
    return reached
