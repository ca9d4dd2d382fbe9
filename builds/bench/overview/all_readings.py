"""All readings of one build, stage by stage, each check with its attempts."""

from dataclasses import dataclass

from builds.bench.gates.facts import Facts
from builds.bench.models import Build, Reading
from builds.bench.readings.context import band_at_line
from builds.guides.models import Check, Stage
from builds.ui.formatting import limits_text
from checks.outcomes import Outcome

SHOWN = ("all", "off", "unread")


@dataclass(frozen=True)
class CheckReadings:
    """A check with its attempts, the latest first. `limits`: the band its latest reading was judged by, or the band a
    reading would be judged by now."""

    check: Check
    attempts: tuple[Reading, ...]
    passed: bool
    is_carried: bool
    limits: str

    @property
    def latest(self) -> Reading | None:
        return self.attempts[0] if self.attempts else None

    @property
    def earlier(self) -> tuple[Reading, ...]:
        return self.attempts[1:]

    @property
    def is_unread(self) -> bool:
        return not self.attempts and not self.is_carried

    @property
    def is_off(self) -> bool:
        return self.latest is not None and self.latest.outcome != Outcome.IN_BAND

    def is_shown(self, show: str) -> bool:
        return {"off": self.is_off, "unread": self.is_unread}.get(show, True)


@dataclass(frozen=True)
class StageReadings:
    stage: Stage
    checks: tuple[CheckReadings, ...]


def all_readings(build: Build, stages, facts: Facts, mains_volts: float | None) -> list[StageReadings]:
    """Every check of the guide, read or not, in the guide's order. Two queries."""
    attempts: dict[int, list[Reading]] = {}
    from_paper = set(build.sheets.values_list("readings", flat=True))
    for reading in build.readings.order_by("-attempt"):
        reading.is_from_paper = reading.pk in from_paper
        attempts.setdefault(reading.check_row_id, []).append(reading)
    return [
        StageReadings(
            stage,
            tuple(
                _check_readings(build, check, attempts.get(check.pk, []), facts, mains_volts)
                for check in stage.checks.all()
            ),
        )
        for stage in stages
        if stage.checks.all()
    ]


def _check_readings(build, check, attempts, facts: Facts, mains_volts) -> CheckReadings:
    for reading in attempts:
        reading.check_row = check  # known already: nothing is to be asked for again
    state = facts.check_states.get(check.pk)
    if attempts:
        low, high = attempts[0].low, attempts[0].high
    else:
        band = band_at_line(build, check, mains_volts if check.stage.is_powered else None)
        low, high = (band.low, band.high) if band else (None, None)
    return CheckReadings(
        check,
        tuple(attempts),
        bool(state and state.passed),
        check.pk in facts.carried and not attempts,
        limits_text(low, high, check.unit),
    )


def counted(stages: list[StageReadings]) -> dict[str, int]:
    """How many checks each filter shows."""
    rows = [row for stage in stages for row in stage.checks]
    return {show: sum(row.is_shown(show) for row in rows) for show in SHOWN}


def filtered(stages: list[StageReadings], show: str, key: str = "") -> list[StageReadings]:
    """What a filter leaves, without the stages that have nothing left."""
    filtered_stages = [
        StageReadings(stage.stage, tuple(row for row in stage.checks if row.is_shown(show)))
        for stage in stages
        if not key or stage.stage.key == key
    ]
    return [stage for stage in filtered_stages if stage.checks]
