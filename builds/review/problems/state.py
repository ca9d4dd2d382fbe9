"""The one state of a problem, derived from what was recorded about it; nothing stores it.

A deviation, a snag and the finding on a check are problems. Triage, decisions and answers each record a part of what is
known; this module alone says which of them counts.
"""

from django.db import models
from django.db.models import Case, F, OuterRef, Q, Subquery, Value, When
from django.db.models.functions import Coalesce
from django.utils.translation import gettext_lazy as _

from builds.bench.models import Snag
from builds.guides.models import Revision
from builds.review.models import Cause, Decision, Triage


class ProblemState(models.TextChoices):
    OPEN = "open", _("open")
    CAUSE_FOUND = "cause-found", _("cause found")
    CHANGE_PLANNED = "change-planned", _("change planned")
    ANSWERED = "answered", _("answered")
    DEFERRED = "deferred", _("deferred")
    NO_CHANGE = "no-change", _("no change needed")
    CLOSED = "closed", _("closed")


UNDECIDED = (ProblemState.OPEN, ProblemState.CAUSE_FOUND)  # those that wait for the designer
IS_NOT_DRAFT = ~Q(draft__state=Revision.State.DRAFT) & Q(draft__isnull=False)


def _case(*conditions, default) -> Case:
    """The first state whose condition holds."""
    whens = [When(condition, then=Value(str(state))) for condition, state in conditions]
    return Case(*whens, default=Value(str(default)), output_field=models.CharField())


def decision_state() -> Case:
    """Of a decision: an accepted change is planned until a revision with it is issued."""
    accepted = Q(state=Decision.State.ACCEPTED)
    return _case(
        (accepted & IS_NOT_DRAFT, ProblemState.ANSWERED),
        (accepted, ProblemState.CHANGE_PLANNED),
        (Q(state=Decision.State.REJECTED), ProblemState.NO_CHANGE),
        default=ProblemState.DEFERRED,
    )


def _triage_state() -> Case:
    """Of a triage: what was closed first, then what is planned, then the cause."""
    return _case(
        (Q(state=Triage.State.NO_CHANGE), ProblemState.NO_CHANGE),
        (Q(state=Triage.State.DONE), ProblemState.CLOSED),
        (~Q(planned_change=""), ProblemState.CHANGE_PLANNED),
        (~Q(cause=Cause.UNKNOWN), ProblemState.CAUSE_FOUND),
        default="",
    )


def _first(rows, state: Case) -> Subquery:
    return Subquery(rows.order_by().annotate(derived=state).values("derived")[:1])


def _overall(*, answered=(), closed=()) -> Case:
    """From `by_triage` and `by_decision`; `answered`, `closed`: conditions that say so by themselves.

    What was said of this one problem comes before what was decided on its check; an answer to the builder counts for
    more than a cause, and less than a change of the guide.
    """
    return _case(
        (Q(by_triage=ProblemState.NO_CHANGE), ProblemState.NO_CHANGE),
        (Q(by_triage=ProblemState.CLOSED), ProblemState.CLOSED),
        *((condition, ProblemState.CLOSED) for condition in closed),
        *(
            (Q(by_decision=state), state)
            for state in (
                ProblemState.ANSWERED,
                ProblemState.CHANGE_PLANNED,
                ProblemState.NO_CHANGE,
                ProblemState.DEFERRED,
            )
        ),
        (Q(by_triage=ProblemState.CHANGE_PLANNED), ProblemState.CHANGE_PLANNED),
        *((condition, ProblemState.ANSWERED) for condition in answered),
        (Q(by_triage=ProblemState.CAUSE_FOUND), ProblemState.CAUSE_FOUND),
        default=ProblemState.OPEN,
    )


def with_deviation_state(statuses):
    """Rows of CheckStatus, each with its `problem_state`."""
    triages = Triage.objects.filter(build=OuterRef("build"), check_row=OuterRef("check_row"))
    decisions = Decision.objects.filter(check_row=OuterRef("check_row"))
    return statuses.annotate(
        by_triage=_or_empty(_first(triages, _triage_state())),
        by_decision=_or_empty(_first(decisions, decision_state())),
        problem_state=_overall(),
    )


def with_snag_state(snags):
    """Snags, each with its `problem_state`. One about a check follows the check's decision where it has none itself."""
    own = Decision.objects.filter(snag=OuterRef("pk"))
    of_check = Decision.objects.filter(check_row=OuterRef("check_row"))
    return snags.annotate(
        by_triage=_or_empty(_first(Triage.objects.filter(snag=OuterRef("pk")), _triage_state())),
        by_decision=_or_empty(_first(own, decision_state()), _first(of_check, decision_state())),
        snag_state=F("state"),
        problem_state=_overall(
            answered=[Q(snag_state=Snag.State.ANSWERED)],
            closed=[Q(snag_state=Snag.State.CLOSED)],
        ),
    )


def _or_empty(*states):
    return Coalesce(*states, Value(""), output_field=models.CharField())


def with_decision_state(decisions):
    """Decisions, each with the `problem_state` that it gives what it is about."""
    return decisions.annotate(problem_state=decision_state())


def finding_state(decision, *, planned: str = "", causes=()) -> ProblemState:
    """Of the finding on a check or step: what was decided on it (from `with_decision_state`), else how far its
    deviations and snags have come."""
    if decision:
        return ProblemState(decision.problem_state)
    if planned:
        return ProblemState.CHANGE_PLANNED
    return ProblemState.CAUSE_FOUND if causes else ProblemState.OPEN
