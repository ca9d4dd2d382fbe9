"""The cases behind the open findings: what was found to be the cause of each, so that no page suggests what does not
fit it."""

from collections import defaultdict

from django.db.models import Q

from builds.bench.models import CheckStatus, ConfirmedFault, Snag
from builds.guides.figures import band_for
from builds.review.changes.case import Case
from builds.review.models import Cause, Triage
from checks.statistics.proportions import wilson


def cases_of(revision, checks, told, snags, decided) -> dict[int, tuple[Case, str]]:
    """Check id -> (its case, the change the designer planned). `told`: check id -> Meaning; `snags`: check id -> snags
    about it; `decided`: check id -> decision. Three queries."""
    missed, triages, confirmed = _missed(checks), _triages(revision), _confirmed(revision)
    return {
        c.pk: (
            _case(c, told[c.pk], missed[c.pk], triages[c.pk], confirmed, tuple(snags[c.pk]), decided.get(c.pk)),
            _planned(triages[c.pk]),
        )
        for c in checks
    }


def _case(check, told, missed, triages, confirmed, snags, decision) -> Case:
    first = wilson(sum(outcome != "in band" for _serial, outcome, _last in missed), max(told.summary.n, len(missed)))
    found = defaultdict(list)
    for serial, _first, _last in missed:
        for words in confirmed.get(serial, ()):
            found[words].append(serial)
    return Case(
        check,
        band_for(check),
        told.summary,
        told.found,
        first,
        told.proposal,
        sum("switch off" in outcomes for _serial, *outcomes in missed),
        any(s.severity == Snag.Severity.DANGER for s in snags),
        tuple((cause, serial) for cause, serial, _words in triages if cause != Cause.UNKNOWN),
        tuple(("off", words, tuple(serials)) for words, serials in found.items()),
        tuple(serial for serial, _first, last in missed if last != "in band"),
        len(snags),
        decision,
    )


def _missed(checks) -> dict[int, list[tuple[str, str, str]]]:
    """Check id -> (serial, first outcome, last outcome) of the builds that missed it, first or last."""
    found = defaultdict(list)
    asked = [c.pk for c in checks] or [0]  # one query with findings or without
    rows = CheckStatus.objects.filter(check_row__in=asked).exclude(first_outcome="in band", outcome="in band")
    for check, *row in rows.order_by("build__serial").values_list(
        "check_row_id", "build__serial", "first_outcome", "outcome"
    ):
        found[check].append(tuple(row))
    return found


def _triages(revision) -> dict[int, list[tuple[str, str, str]]]:
    """Check id -> (cause, serial, planned change) of its deviations and of the snags about it."""
    found = defaultdict(list)
    rows = Triage.objects.filter(Q(build__revision=revision) | Q(snag__build__revision=revision)).order_by("pk")
    for check, about, build, said_by, *rest in rows.values_list(
        "check_row_id", "snag__check_row_id", "build__serial", "snag__build__serial", "cause", "planned_change"
    ):
        if check or about:
            cause, planned = rest
            found[check or about].append((cause, build or said_by, planned.strip()))
    return found


def _planned(triages) -> str:
    return " ".join(dict.fromkeys(planned for _cause, _serial, planned in triages if planned))


def _confirmed(revision) -> dict[str, list[str]]:
    """Serial -> causes confirmed at its bench."""
    found = defaultdict(list)
    rows = ConfirmedFault.objects.filter(build__revision=revision, taken_back_at=None)
    for serial, words in rows.values_list("build__serial", "words"):
        found[serial].append(words)
    return found
