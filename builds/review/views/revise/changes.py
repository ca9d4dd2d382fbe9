"""What a revision changed, why, on what evidence, and whether it worked."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design
from builds.guides.access import designers_revision
from builds.review.changes.drafts import newest
from builds.review.changes.proof import change_proofs, stage_proofs
from builds.review.changes.record import list_changes


@may_design
@require_safe
def changes(request, kit, letter):
    """What changed from the revision before, why, on what evidence, and, once it is built from, whether it worked."""
    revision = designers_revision(request.user, kit, letter)
    before, listed = revision.cloned_from, list_changes(revision)
    proofs = {proof.decision.pk: proof for proof in change_proofs(revision)}
    last = newest(revision) if revision.is_draft else revision
    return render(
        request,
        "review/changes.html",
        {
            "revision": revision,
            "before": before,
            "listed": listed,
            "left_out": last if before and last.pk not in (before.pk, revision.pk) else None,
            "changes": [(change, proofs.get(change.decision)) for change in listed.changes],
            "stages": stage_proofs(before, revision) if before and not revision.is_draft else [],
        },
    )
