"""How often the checks of a revision were read, which also tells whether what rests on their readings has changed."""

from typing import NamedTuple

from django.db.models import Case, Count, IntegerField, Max, Q, Sum, When

from builds.bench.models import CheckStatus
from checks.outcomes import Outcome


class ReadCounts(NamedTuple):
    """Of one check: builds that read it, their latest reading's id, attempts in all, builds that missed at first, and
    those that have not passed it."""

    builds: int = 0
    latest: int | None = None
    attempts: int = 0
    missed_first: int = 0
    not_passed: int = 0

    @property
    def of_readings(self) -> tuple:
        """What changes with every reading, and with nothing else."""
        return self.builds, self.latest, self.attempts


NONE = ReadCounts()


def read_counts(checks) -> dict[int, ReadCounts]:
    """Check id -> its counts; checks that nobody read are left out. One query, answered from an index alone."""
    rows = (
        CheckStatus.objects.filter(check_row__in=[c.pk for c in checks])
        .order_by()
        .values_list("check_row_id")
        .annotate(
            n=Count("pk"),
            last=Max("latest_id"),
            tries=Sum("attempts"),
            missed=_where(~Q(first_outcome=Outcome.IN_BAND)),
            out=_where(Q(passed=False)),
        )
    )
    return {pk: ReadCounts(*counts) for pk, *counts in rows}


def _where(condition):
    return Sum(Case(When(condition, then=1), default=0, output_field=IntegerField()))
