"""Whom a change answers: the snag decided on, and every other one about what was changed. Builders are told when the
revision is issued."""

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from builds.bench import notices
from builds.bench.models import Message, Snag
from builds.guides.models import Revision
from builds.guides.row_labels import format_figures, value_text
from builds.review.changes.drafts import list_targets
from builds.review.changes.targets import LIMITS, find_target, target_of_snag
from builds.review.models import Decision

MOST = 600  # characters quoted to a builder
ASIDE = (Decision.State.REJECTED, Decision.State.DEFERRED)
ABOUT = ("build__builder", "stage", "step__stage", "check_row__stage", "part")


def accepted_into(revision: Revision) -> list[Decision]:
    """The decisions that made a revision what it is, with what they are about at hand."""
    rows = revision.changes.filter(state=Decision.State.ACCEPTED).select_related(
        "revision",
        "check_row__stage",
        "snag__build__builder",
        "snag__stage",
        "snag__step__stage",
        "snag__check_row__stage",
        "snag__part",
    )
    return list(rows)


def answered_by(decisions: list[Decision]) -> dict[int, list[Snag]]:
    """Decision id -> the snags it answers, each snag under one decision: its own where it has one. Two queries."""
    revisions = {d.revision_id for d in decisions}
    snags = (
        Snag.objects.own().filter(build__revision__in=revisions).exclude(state=Snag.State.CLOSED).select_related(*ABOUT)
    )
    aside = set(
        Decision.objects.filter(revision__in=revisions, state__in=ASIDE)
        .exclude(snag=None)
        .values_list("snag_id", flat=True)
    )
    answered = {d.pk: [d.snag] if d.snag is not None else [] for d in decisions}
    taken = aside | {d.snag_id for d in decisions}
    for snag in sorted(snags, key=lambda s: (s.at, s.pk)):
        maker = next((d for d in decisions if _is_about(d, snag)), None) if snag.pk not in taken else None
        if maker is not None:
            answered[maker.pk].append(snag)
    return answered


def _is_about(decision, snag) -> bool:
    """Was what the snag is about changed, or judged, by the decision? One about a whole stage is answered by its own
    decision only."""
    about = target_of_snag(snag)
    if about.kind == "stage" or snag.build.revision_id != decision.revision_id:
        return False
    return about in list_targets(decision) or (
        decision.check_row_id is not None and about == find_target(decision.check_row)
    )


@transaction.atomic
def answer_snags(issued: Revision, decisions=None, answers=None) -> int:
    """Answer every snag that this revision was changed for, in its thread; returns how many."""
    decisions = accepted_into(issued) if decisions is None else decisions
    answers = answered_by(decisions) if answers is None else answers
    return sum(_answer(issued, decision, snag) for decision in decisions for snag in answers[decision.pk])


def _new_text(decision) -> str:
    """What the guide says there now, in short; empty where it says nothing any more."""
    figures = format_figures({e["field"]: e["after"] for e in decision.edits if e["field"] in LIMITS})
    texts = [
        f"“{value_text(e['field'], e['after'])}”" for e in decision.edits if e["field"] not in LIMITS and e["after"]
    ]
    text = "; ".join(dict.fromkeys(x for x in (figures, *texts) if x))
    return text if len(text) <= MOST else f"{text[: MOST - 2]} …"


def _answer_text(issued, decision) -> str:
    lines = [_("Answered in revision %(letter)s of the guide.") % {"letter": issued.letter}]
    if reason := decision.reason.strip().rstrip("."):
        lines.append(_("Reason: %(reason)s.") % {"reason": reason})
    if text := _new_text(decision):
        lines.append(_("It now says: %(text)s") % {"text": text})
    else:
        lines.append(_("That part of the guide has been removed."))
    return "\n".join([*lines, _("Thank you.")])


def _answer(issued, decision, snag) -> int:
    text = _answer_text(issued, decision)
    if snag.messages.filter(words=text).exists():
        return 0
    notices.notify_of_answer(snag, Message.objects.create(snag=snag, by=decision.by, words=text))
    both = Q(pk=snag.pk) | Q(merged_into=snag.pk)
    Snag.objects.filter(both, state=Snag.State.OPEN).update(state=Snag.State.ANSWERED)
    return 1
