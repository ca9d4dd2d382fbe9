"""Invitations of builds: making, renewing and withdrawing them, and their QR codes."""

from datetime import timedelta

from django.contrib import messages
from django.db import transaction
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from builds.accounts.access import may_design
from builds.accounts.models import Invitation
from builds.bench import access
from builds.bench.models import Build
from builds.ui.drawings.qr import qr_svg

PASSWORD_LIFE = timedelta(days=2)


@transaction.atomic
def make_build(request, revision, serial) -> tuple[Build, str]:
    """A build with its invitation, and the link that opens it."""
    invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=request.user)
    row = Build.objects.create(
        revision=revision,
        serial=serial,
        invitation=invitation,
        mains_volts=revision.mains_volts,
        mains_hertz=revision.mains_hertz,
    )
    return row, _link(request, token)


def _link(request, token) -> str:
    return request.build_absolute_uri(reverse("accounts:invitation", args=[token]))


@may_design
@never_cache  # the link is shown once; compressed pages hold no secret (ui/compression.py)
@require_POST
def renew(request, pk):
    """Withdraw a build's invitation and make a new link; for a build that has a builder, a link for a new password."""
    row = access.designers_build(request.user, pk)
    if not row.builder:
        token = _new_invitation(request, row)
    elif row.builder != request.user and (row.builder.may_design or row.builder.kits.exists()):
        # The link opens all that the person sees, other designers' kits too.
        words = _("%(person)s also designs kits. They ask for a new password by e-mail themselves.")
        messages.error(request, words % {"person": row.builder})
        return redirect("review:builds", row.revision.kit.key, row.revision.letter)
    else:
        token = _new_password(request, row.builder)
    link = _link(request, token)
    return render(
        request,
        "review/link.html",
        {
            "build": row,
            "revision": row.revision,
            "link": link,
            "qr": qr_svg(link),
            "password": row.builder is not None,
        },
    )


@transaction.atomic
def _new_invitation(request, row) -> str:
    if row.invitation:
        Invitation.objects.filter(pk=row.invitation_id).update(revoked_at=timezone.now())
    row.invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=request.user)
    row.save(update_fields=["invitation"])
    return token


def _new_password(request, person) -> str:
    earlier = Invitation.objects.usable().filter(person=person, purpose=Invitation.Purpose.PASSWORD)
    earlier.update(revoked_at=timezone.now())
    _made, token = Invitation.make(Invitation.Purpose.PASSWORD, made_by=request.user, person=person, life=PASSWORD_LIFE)
    return token


@may_design
@require_POST
def revoke(request, pk):
    row = access.designers_build(request.user, pk)
    if row.invitation_id:
        Invitation.objects.filter(pk=row.invitation_id, used_at=None).update(revoked_at=timezone.now())
        messages.success(request, _("The invitation is withdrawn. Its link no longer works."))
    return redirect("review:builds", row.revision.kit.key, row.revision.letter)
