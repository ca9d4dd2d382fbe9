"""Which readings a builder may be asked for now: nothing behind a gate, nothing live after a stop, nothing that is not
built yet."""

from builds.bench.gates import gating
from builds.bench.gates.facts import Facts, facts_of
from builds.guides.guide_cache import load_guide
from checks.circuit.terminals import VALVES
from checks.verdict import Outcome


def may_ask(build, check, facts: Facts | None = None):
    """A function of a Place of the fault book: may it be read next, while `check` is off? One query.

    With the power on only the stage in hand; after a stop nothing with the power on, whoever made the kit safe since.
    """
    facts = facts or facts_of(build)
    reached, wired = _reached(build, facts), is_wired(build, facts)
    stand = facts.stands.get(check.pk)
    stopped = stand is not None and stand.outcome == Outcome.SWITCH_OFF.value

    def allowed(place) -> bool:
        if place.check and place.stage not in reached:
            return False
        return wired or bool(place.check) if place.power == "off" else place.stage == check.stage.key and not stopped

    return allowed


def is_wired(build, facts: Facts | None = None) -> bool:
    """Is every step done that fits a part other than a valve? Before that a reading in the circuit says nothing of its
    parts."""
    facts = facts or facts_of(build)
    guide = load_guide(build.revision)
    valves = {part.ref for part in guide.parts.values() if part.kind in VALVES}
    return all(
        step.pk in facts.ticked for stage in guide.stages for step in stage.steps.all() if set(step.parts) - valves
    )


def _reached(build, facts: Facts) -> set[str]:
    """Keys of the stages up to the first gate that is not passed, without those the designer has shut."""
    found = set()
    for state in gating.stage_states(build, facts):
        if state.stage.pk not in facts.halts:
            found.add(state.stage.key)
        if state.stage.gate and not state.complete:
            break
    return found
