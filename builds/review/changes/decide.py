"""Deciding: the edit goes into the draft that follows the newest issued revision, through the same rules as the
editor's."""

from django.db import transaction
from django.utils.translation import gettext as _

from builds.guides.models import Revision
from builds.review.changes.drafts import draft_after, hold, undo, validate_leftover
from builds.review.changes.targets import (
    Refused,
    Target,
    digest,
    find_target,
    get_text,
    locate_row,
    normalise,
    set_text,
    target_of_snag,
    validate,
)
from builds.review.models import Decision

__all__ = ["Refused", "accept_change", "accept_check", "accept_snag", "decline_change"]


def _before(revision, check, snag) -> Decision | None:
    """The decision there is. Holds the kit, so that a second tap waits and finds it. Raises Refused when it was
    issued."""
    hold(revision.kit_id)
    decision = (
        revision.decisions.filter(check_row=check, snag=snag)
        .select_related(
            "draft__kit", "check_row__stage", "snag__stage", "snag__check_row__stage", "snag__step__stage", "snag__part"
        )
        .first()
    )
    if decision and decision.draft and not decision.draft.is_draft:
        text = _("This was decided and issued in revision %(letter)s. It can no longer change.")
        raise Refused(text % {"letter": decision.draft.letter})
    return decision


@transaction.atomic
def decline_change(
    revision, state: str, *, check=None, snag=None, reason: str, by, finding="", evidence="", basis=None
) -> Decision:
    """Reject or defer, with a reason. An edit made before is taken out of the draft again."""
    if not reason.strip():
        raise Refused(_("Give a reason: readers of the change list will ask."))
    before = _before(revision, check, snag)
    if before and before.edits:
        undo(before)
        validate_leftover(before)
    return _save(
        revision,
        check,
        snag,
        state=state,
        reason=reason.strip(),
        by=by,
        finding=finding,
        evidence=evidence,
        basis=basis,
        edits=[],
        draft=None,
    )


@transaction.atomic
def accept_change(
    revision,
    edits_of: dict[Target, dict[str, str]],
    *,
    check=None,
    snag=None,
    reason: str,
    by,
    finding="",
    evidence="",
    basis=None,
    seen: dict[Target, str] | None = None,
) -> Decision:
    """Write words and figures (as typed) into the same rows of the draft.

    What the draft says already is accepted too, when another decision or an edit changed it there: both are linked.
    `seen`: the digests of the rows that the form was filled from. Raises Refused for what the rules refuse, and for a
    form the draft has moved on from.
    """
    before = _before(revision, check, snag)
    draft = draft_after(revision)
    digests = {target: digest(target.row_in(draft)) for target in edits_of}
    if before and before.edits:
        undo(before)
    edits = []
    for target, fields in edits_of.items():
        edits += _write(draft, target, fields, None if seen is None else (seen.get(target), digests[target]))
    edits = edits or [
        edit for target, fields in edits_of.items() for edit in _edits_made_already(revision, draft, target, fields)
    ]
    if not edits:
        text = _("Revision %(letter)s already says that. Change something, or reject the finding with a reason.")
        raise Refused(text % {"letter": revision.letter})
    return _save(
        revision,
        check,
        snag,
        state=Decision.State.ACCEPTED,
        reason=reason.strip(),
        by=by,
        finding=finding,
        evidence=evidence,
        basis=basis,
        edits=edits,
        draft=draft,
    )


def accept_check(revision, check, figures: dict, **more) -> Decision:
    """Accept a check's finding with figures, or words, of the check itself."""
    return accept_change(revision, {find_target(check): figures}, check=check, **more)


def accept_snag(revision, snag, text: str | dict, **more) -> Decision:
    """Answer a snag with new words for its step, or with fields of whatever it is about."""
    fields = {"text": text} if isinstance(text, str) else text
    return accept_change(revision, {target_of_snag(snag): fields}, snag=snag, evidence=snag.words[:500], **more)


def _write(draft, target, fields, marks) -> list[dict]:
    """The edits made in one row; `marks`: the digest that the form had, and that of the row a moment ago."""
    row = target.row_in(draft)
    if row is None:
        text = _("Revision %(letter)s no longer has the item that this is about (%(key)s).")
        raise Refused(text % {"letter": draft.letter, "key": target.key})
    fields = _cleaned(target, fields)
    edits = [
        {
            "row": [target.kind, target.stage, target.key],
            "where": locate_row(row),
            "field": name,
            "before": get_text(row, name),
            "after": after,
        }
        for name, after in fields.items()
        if get_text(row, name) != after
    ]
    if edits and marks and marks[0] not in (marks[1], digest(row)):
        text = _("Draft %(letter)s has changed since this page was opened. Check what it says now, then accept again.")
        raise Refused(text % {"letter": draft.letter})
    for edit in edits:
        set_text(row, edit["field"], edit["after"])
    if edits:
        validate(row)
        row.save()
    return edits


def _cleaned(target, fields: dict) -> dict[str, str]:
    """Fields of the target only. A band from low to high takes the place of one given otherwise, where nothing is said
    of that."""
    typed = {name: fields[name].replace("\r\n", "\n").strip() for name in target.fields if name in fields}
    if typed.get("low") or typed.get("high"):
        typed = dict.fromkeys(("band", "at_least", "at_most"), "") | typed
    return {name: normalise(name, text) for name, text in typed.items()}


def _edits_made_already(revision, draft, target, fields) -> list[dict]:
    """Edits that would have been made in the revision decided on, where the draft has them already."""
    old, row = target.row_in(revision), target.row_in(draft)
    return [
        {
            "row": [target.kind, target.stage, target.key],
            "where": locate_row(row),
            "field": name,
            "before": get_text(old, name),
            "after": after,
        }
        for name, after in _cleaned(target, fields).items()
        if old is not None and get_text(old, name) != after
    ]


def _save(revision: Revision, check, snag, **fields) -> Decision:
    return Decision.objects.update_or_create(revision=revision, check_row=check, snag=snag, defaults=fields)[0]
