"""Deciding: the edit goes into the draft that follows the revision, through the same rules as the editor's."""
from django.db import transaction
from django.db.models import Q

from builds.bench import telling
from builds.bench.models import Message, Snag
from builds.guides.guide_file import rules
from builds.guides.models import Check, Revision, Step
from builds.guides.revisions import clone
from builds.review.models import Decision

FIGURES = ("expected", "band", "low", "high", "at_least", "at_most", "note")


class Refused(ValueError):
    """Why a decision cannot be taken, as a sentence."""


def draft_after(revision: Revision) -> Revision:
    """The draft that accepted changes go into: one made from this revision already, else a new one."""
    return revision.clones.filter(state=Revision.State.DRAFT).order_by("-made_at").first() or clone(revision)


def _settled(decision: Decision | None) -> None:
    if decision and decision.draft and not decision.draft.is_draft:
        raise Refused(f"This was decided and issued in revision {decision.draft.letter}; it stays as it is.")


@transaction.atomic
def put_aside(revision, state: str, *, check=None, snag=None, reason: str, by, finding="", evidence="") -> Decision:
    """Reject or put off, with a reason. An edit made before is taken out of the draft again."""
    if not reason.strip():
        raise Refused("Say why: whoever reads the change list will ask.")
    before = revision.decisions.filter(check_row=check, snag=snag).first()
    _settled(before)
    if before and before.edits:
        undo(before)
    return _keep(revision, check, snag, state=state, reason=reason.strip(), by=by, finding=finding, evidence=evidence, edits=[],
                 draft=None)


@transaction.atomic
def accept_check(revision, check, figures: dict, *, reason: str, by, finding="", evidence="") -> Decision:
    """Write figures (as typed) into the same check of the draft. Raises Refused when they contradict each other."""
    before = revision.decisions.filter(check_row=check).first()
    _settled(before)
    if before and before.edits:
        undo(before)
    draft = draft_after(revision)
    row = Check.objects.filter(stage__revision=draft, stage__key=check.stage.key, key=check.key).first()
    if row is None:
        raise Refused(f"Revision {draft.letter} has no check {check.title} any more.")
    wanted = {name: figures[name].strip() for name in FIGURES if name in figures}
    if any(name in wanted for name in ("low", "high")):
        wanted |= {name: wanted.get(name, "") for name in ("band", "at_least", "at_most")}
    edits = _apply(row, wanted, f"{check.stage.title}: {check.title}")
    for key, message in rules.check_rules(_as_row(row)):
        raise Refused(f"{key} {message}")
    if not edits:
        raise Refused("That is what the draft says already.")
    row.save()
    return _keep(revision, check, None, state=Decision.State.ACCEPTED, reason=reason.strip(), by=by, finding=finding,
                 evidence=evidence, edits=edits, draft=draft)


@transaction.atomic
def accept_snag(revision, snag, text: str, *, reason: str, by) -> Decision:
    """Answer a snag with new words for its step in the draft."""
    before = revision.decisions.filter(snag=snag).first()
    _settled(before)
    if before and before.edits:
        undo(before)
    if snag.step is None:
        raise Refused("This snag is about no step. Edit the draft itself, and say here why under Put off or Reject.")
    draft = draft_after(revision)
    step = Step.objects.filter(stage__revision=draft, stage__key=snag.stage.key, key=snag.step.key).first()
    if step is None:
        raise Refused(f"Revision {draft.letter} has no such step any more.")
    if not text.strip():
        raise Refused("A step needs words.")
    edits = _apply(step, {"text": text.strip()}, f"{snag.stage.title}: step {step.key}")
    if not edits:
        raise Refused("That is what the draft says already.")
    step.save()
    return _keep(revision, None, snag, state=Decision.State.ACCEPTED, reason=reason.strip(), by=by, finding="",
                 evidence=snag.words[:500], edits=edits, draft=draft)


def _apply(row, wanted: dict, where: str) -> list[dict]:
    edits = []
    for field, after in wanted.items():
        if getattr(row, field) != after:
            edits.append({"where": where, "field": field, "before": getattr(row, field), "after": after})
            setattr(row, field, after)
    return edits


def _as_row(check) -> dict:
    names = ("measure", "expected", "band", "low", "high", "at_least", "at_most", "stop_above", "stop_below", "prototype",
             "source_resistance", "through")
    return {name: getattr(check, name) for name in names if getattr(check, name)}


def undo(decision: Decision) -> None:
    """Take an edit back out of its draft, where nobody has changed it since."""
    row = _row_of(decision)
    if row is None:
        return
    for edit in decision.edits:
        if getattr(row, edit["field"]) == edit["after"]:
            setattr(row, edit["field"], edit["before"])
    row.save()


def _row_of(decision: Decision):
    if decision.draft is None or not decision.draft.is_draft:
        return None
    if decision.check_row:
        check = decision.check_row
        return Check.objects.filter(stage__revision=decision.draft, stage__key=check.stage.key, key=check.key).first()
    return Step.objects.filter(stage__revision=decision.draft, stage__key=decision.snag.stage.key, key=decision.snag.step.key).first()


def _keep(revision, check, snag, **fields) -> Decision:
    return Decision.objects.update_or_create(revision=revision, check_row=check, snag=snag, defaults=fields)[0]


@transaction.atomic
def tell_builders(issued: Revision) -> int:
    """Answer every snag that this revision was changed for, in its thread; says how many."""
    told = 0
    accepted = issued.changes.filter(state=Decision.State.ACCEPTED).exclude(snag=None)
    for decision in accepted.select_related("snag__build__builder", "snag__stage"):
        words = f"Answered in revision {issued.letter} of the guide: {decision.reason or 'the step was rewritten'}. Thank you."
        if not decision.snag.messages.filter(words=words).exists():
            telling.answered(decision.snag, Message.objects.create(snag=decision.snag, by=decision.by, words=words))
            both = Q(pk=decision.snag_id) | Q(merged_into=decision.snag_id)
            Snag.objects.filter(both, state=Snag.State.OPEN).update(state=Snag.State.ANSWERED)
            told += 1
    return told
