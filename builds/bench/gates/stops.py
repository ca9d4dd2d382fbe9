"""A reading that said switch off, once the kit is made safe: it goes on to stand until the check reads well again."""

from dataclasses import dataclass
from datetime import datetime

from builds.bench.gates.gating import Power
from builds.bench.models import Build, Reading


@dataclass(frozen=True)
class ActiveStop:
    """The reading past its stop limit (with its check and stage at hand) and when the kit was made safe after it."""

    reading: Reading
    made_safe_at: datetime

    @property
    def check(self):
        return self.reading.check_row


def active_stop(build: Build, power: Power) -> ActiveStop | None:
    """The stop that a build stands on, made safe but not yet read well again. One query where there is one, none
    else."""
    if power.stop_check is None or power.stop_unanswered:
        return None
    stand = build.statuses.select_related("latest__check_row__stage").get(check_row=power.stop_check)
    return ActiveStop(stand.latest, power.last_safe)
