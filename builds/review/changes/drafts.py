"""Which draft an accepted change goes into, and taking one out of it again."""

from django.utils.translation import gettext as _

from builds.guides.models import Revision
from builds.guides.revisions import clone, hold
from builds.review.changes.targets import Refused, Target, find_target, get_text, set_text, target_of_snag, validate
from builds.review.models import Decision

__all__ = ["find_base", "draft_after", "hold", "list_places", "list_targets", "undo"]


def newest(revision: Revision) -> Revision:
    """The revision of the kit that was issued last; a change made to an older one would lose what came between."""
    issued = Revision.objects.filter(kit=revision.kit_id, state=Revision.State.ISSUED).select_related("kit")
    return issued.order_by("-issued_at", "-pk").first() or revision


def _find_draft(revision: Revision) -> Revision | None:
    return (
        revision.clones.filter(state=Revision.State.DRAFT)
        .select_related("kit", "cloned_from")
        .order_by("-made_at", "-pk")
        .first()
    )


def find_base(revision: Revision) -> Revision:
    """What an accepted change will be written over: the draft there is, else the newest issued revision."""
    last = newest(revision)
    return _find_draft(last) or last


def draft_after(revision: Revision) -> Revision:
    """The draft that accepted changes go into: one made from the newest issued revision already, else a new one. Holds
    the kit."""
    hold(revision.kit_id)
    last = newest(revision)
    return _find_draft(last) or clone(last)


def list_targets(decision: Decision) -> list[Target]:
    """The target of each of its edits. Edits of the first days name no row: it is what was decided on."""
    return [_target(decision, edit) for edit in decision.edits]


def list_places(decision: Decision) -> set[tuple[str, str]]:
    """(row, key) of each of its edits, as the comparison of revisions names them."""
    return {
        (target.place, {"hints": "hint"}.get(edit["field"], edit["field"]))
        for target, edit in zip(list_targets(decision), decision.edits, strict=True)
    }


def _target(decision, edit) -> Target:
    if "row" in edit:
        return Target(*edit["row"])
    return find_target(decision.check_row) if decision.check_row else target_of_snag(decision.snag)


def undo(decision: Decision) -> None:
    """Take an edit back out of its draft, where nobody has changed it since and no other decision wants it too."""
    if decision.draft is None or not decision.draft.is_draft:
        return
    others = list(
        decision.draft.changes.filter(state=Decision.State.ACCEPTED)
        .exclude(pk=decision.pk)
        .select_related("check_row__stage", "snag__stage", "snag__check_row__stage", "snag__step__stage", "snag__part")
    )
    rows: dict = {}
    for edit in decision.edits:
        target = _target(decision, edit)
        row = rows.setdefault(target, target.row_in(decision.draft))
        if row is not None and not _wanted_by(others, target, edit) and get_text(row, edit["field"]) == edit["after"]:
            set_text(row, edit["field"], edit["before"])
    for row in filter(None, rows.values()):
        row.save()


def _wanted_by(others, target, edit) -> bool:
    """Do other decisions want the same words there? One that went on from them now goes on from those before."""
    is_wanted = False
    for other in others:
        same = [e for e in other.edits if e["field"] == edit["field"] and _target(other, e) == target]
        is_wanted |= any(e["after"] == edit["after"] for e in same)
        built_on = [e for e in same if e["before"] == edit["after"]]
        for e in built_on:
            e["before"] = edit["before"]
        if built_on:
            other.save(update_fields=["edits"])
    return is_wanted


def validate_leftover(decision: Decision) -> None:
    """After an undo that left other decisions' figures in place. Raises Refused."""
    for target in dict.fromkeys(list_targets(decision)):
        row = target.row_in(decision.draft) if decision.draft and decision.draft.is_draft else None
        try:
            if row is not None:
                validate(row)
        except Refused as error:
            text = _("Without this change the draft would contradict itself: %(error)s Edit the draft instead.")
            raise Refused(text % {"error": error}) from error
