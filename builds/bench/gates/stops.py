"""A reading that said switch off goes on to stand, once the kit is made safe, until its check reads well again."""

from dataclasses import dataclass
from datetime import datetime

from builds.bench.gates.gating import Power
from builds.bench.models import Build, Reading


@dataclass(frozen=True)
class ActiveStop:
    """The reading past its stop limit (with its check and stage at hand) and when the kit was made safe after it.
    `is_live`: it has had power again since."""

    reading: Reading
    made_safe_at: datetime
    is_live: bool

    @property
    def check(self):
        return self.reading.check_row


def active_stop(build: Build, power: Power) -> ActiveStop | None:
    """The stop that a build stands on, made safe but not yet read well again. One query where there is one, none
    else."""
    if power.stop_check is None or power.last_safe is None or power.stop_unanswered:
        return None
    return ActiveStop(stop_reading(build, power), power.last_safe, power.needs_made_safe)


def stop_reading(build: Build, power: Power) -> Reading:
    """The latest reading past its stop limit that stands on the build, with its check and stage."""
    status = build.statuses.select_related("stop__check_row__stage").get(check_row=power.stop_check, stop__isnull=False)
    assert status.stop is not None  # asked for
    return status.stop
