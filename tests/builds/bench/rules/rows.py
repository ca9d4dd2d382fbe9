"""Guide rows that no database has, for rules that only look at them."""

from datetime import UTC, datetime, timedelta

from builds.bench.gates.facts import CheckState, Facts
from builds.bench.gates.gating import Power
from builds.guides.models import Check, Stage, Step

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


def after(minutes: float) -> datetime:
    return NOON + timedelta(minutes=minutes)


def make_stage(pk: int = 1, items=(), *, powered: bool = False, gate: bool = False) -> Stage:
    """A stage with its steps and checks in the order given."""
    stage = Stage(pk=pk, key=f"stage-{pk}", title=f"Stage {pk}", gate=gate, power="on" if powered else "off")
    for place, item in enumerate(items):
        item.place = place
    rows = {"steps": [i for i in items if isinstance(i, Step)], "checks": [i for i in items if isinstance(i, Check)]}
    stage._prefetched_objects_cache = rows
    return stage


def make_step(pk: int, *, hands_in: bool = False, photo: str = "none") -> Step:
    return Step(pk=pk, key=f"step-{pk}", text="Do it.", hands_in=hands_in, photo=photo)


def make_check(pk: int, *, optional: bool = False) -> Check:
    return Check(pk=pk, key=f"check-{pk}", title=f"Check {pk}", measure="dc volts", optional=optional)


def stood(outcome: str, *, passed: bool = False, at: float = 0, attempts: int = 1) -> CheckState:
    return CheckState(attempts, passed, outcome, after(at))


def facts_with(**fields) -> Facts:
    return Facts(**{name: frozenset(value) if isinstance(value, set) else value for name, value in fields.items()})


DEAD = Power(None, None)
LIVE = Power(NOON, None)
MADE_SAFE = Power(NOON, after(1))
STOPPED = Power(NOON, None, 7, NOON)
STOPPED_AND_SAFE = Power(NOON, after(1), 7, NOON)
