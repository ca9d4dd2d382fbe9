"""Offering a builder a later revision: what it would mean for this build, and the offer."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.bench import access, notices
from builds.bench.models import MoveOffer
from builds.bench.moves import moving
from builds.guides.models import Revision


def later_revisions(build):
    """The issued revisions of the kit that came after the build's own."""
    return Revision.objects.filter(
        kit=build.revision.kit_id, state=Revision.State.ISSUED, issued_at__gt=build.revision.issued_at
    )


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def offer(request, pk, letter):
    """See what moving this build to a later revision would mean; a post makes the offer to its builder."""
    build = access.designers_build(request.user, pk)
    revision = get_object_or_404(later_revisions(build), letter=letter)
    obstacle = moving.obstacle(build, revision)
    waiting = build.move_offers.filter(taken_at=None, declined_at=None).first()
    if request.method == "POST" and not obstacle:
        _make(build, revision, request.user)
        messages.success(
            request, _("Offered to %(person)s. The build moves when they accept.") % {"person": build.builder}
        )
        return redirect("review:build", build.pk)
    return render(
        request,
        "review/move.html",
        {
            "build": build,
            "revision": build.revision,
            "to": revision,
            "obstacle": obstacle,
            "waiting": waiting,
            "plan": moving.make_plan(build, revision),
        },
        status=409 if request.method == "POST" else 200,
    )


@transaction.atomic
def _make(build, revision, person) -> MoveOffer:
    """One offer is open at a time: a later one replaces one that was not answered."""
    build.move_offers.filter(taken_at=None, declined_at=None).exclude(revision=revision).update(
        declined_at=timezone.now()
    )
    made, new = MoveOffer.objects.get_or_create(
        build=build, revision=revision, taken_at=None, declined_at=None, defaults={"by": person}
    )
    if new:
        notices.notify_of_offer(made)
    return made
