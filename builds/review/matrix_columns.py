"""The columns of the builds x checks matrix: one a check, or one for all checks of a stage that no build missed."""

from dataclasses import dataclass
from itertools import groupby
from typing import Any

from checks.outcomes import Outcome

MANY = 24  # checks, from which on those without problems are folded unless all are asked for


@dataclass(frozen=True)
class Column:
    """A check by itself, or the checks of a stage that are in band, or not read yet, in every build shown."""

    stage: Any
    checks: tuple
    check: Any = None


def list_columns(checks, statuses, fold: bool) -> list[Column]:
    """The columns in the guide's order; a stage's folded checks come last. A single check is not folded by itself."""
    if not fold:
        return [Column(check.stage, (check,), check) for check in checks]
    missed = {check for (_build, check), status in statuses.items() if not _is_clean(status)}
    columns = []
    for _pk, group in groupby(checks, key=lambda check: check.stage_id):
        rows = list(group)
        clean = [check for check in rows if check.pk not in missed]
        shown = rows if len(clean) == 1 else [check for check in rows if check.pk in missed]
        columns += [Column(check.stage, (check,), check) for check in shown]
        if len(clean) > 1:
            columns.append(Column(rows[0].stage, tuple(clean)))
    return columns


def _is_clean(status) -> bool:
    outcome, _deviation, _attempts, first = status
    return outcome == first == Outcome.IN_BAND
