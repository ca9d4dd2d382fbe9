"""Invitations of builds: making, renewing and withdrawing them, and their QR codes."""

from datetime import timedelta

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts import letters
from builds.accounts.access import may_design
from builds.accounts.events import record
from builds.accounts.links import invitation_link
from builds.accounts.models import Invitation
from builds.accounts.password_links import why_no_link
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
    return row, invitation_link(token)


@may_design
@never_cache  # the link is shown once; compressed pages hold no secret (ui/compression.py)
@require_POST
def renew(request, pk):
    """Withdraw a build's invitation and make a new link; for a build that has a builder, a link for a new password."""
    row = access.designers_build(request.user, pk)
    if not row.builder:
        token = _new_invitation(request, row)
        if token is None:
            messages.error(request, _("A builder has just taken on this build. No link was made."))
            return redirect("review:builds", row.revision.kit.key, row.revision.letter)
    elif obstacle := why_no_link(request.user, row.builder):
        messages.error(request, obstacle)
        return redirect("review:builds", row.revision.kit.key, row.revision.letter)
    else:
        token = _new_password(request, row)
    link = invitation_link(token)
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
def _new_invitation(request, row) -> str | None:
    """None where somebody has accepted the earlier one meanwhile: another would take the build from them."""
    if Build.objects.select_for_update().get(pk=row.pk).builder_id:
        return None
    if row.invitation:
        Invitation.objects.filter(pk=row.invitation_id).update(revoked_at=timezone.now())
    row.invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=request.user)
    row.save(update_fields=["invitation"])
    return token


@transaction.atomic
def _new_password(request, row) -> str:
    """The builder is told, and the record says who made it."""
    person, designer = row.builder, request.user
    earlier = Invitation.objects.usable().filter(person=person, purpose=Invitation.Purpose.PASSWORD)
    earlier.update(revoked_at=timezone.now())
    _made, token = Invitation.make(Invitation.Purpose.PASSWORD, made_by=designer, person=person, life=PASSWORD_LIFE)
    record(designer, "password-link", row.revision.kit.key, person=person.display_name, serial=row.serial)
    letters.write_to(person, "password-link", by=designer.display_name)
    return token


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def remove_builder(request, pk):
    """Take a builder off a build. What they measured stays; the build waits for the next invitation."""
    row = get_object_or_404(Build.objects.designed_by(request.user).with_guide(), pk=pk, builder__isnull=False)
    access.designers_build(request.user, pk)
    if request.method == "POST":
        _remove(request.user, row)
        messages.success(request, _("Removed. The readings stay. Make a new link for the next builder."))
        return redirect("review:builds", row.revision.kit.key, row.revision.letter)
    return render(request, "review/remove-builder.html", {"build": row, "revision": row.revision})


@transaction.atomic
def _remove(designer, row) -> None:
    builder, kit = row.builder, row.revision.kit.key
    if row.invitation_id:
        Invitation.objects.filter(pk=row.invitation_id, used_at=None).update(revoked_at=timezone.now())
    row.builder = row.invitation = row.meter = None
    row.save(update_fields=["builder", "invitation", "meter"])
    record(designer, "builder-removed", kit, person=builder.display_name, serial=row.serial)
    letters.write_to(builder, "builder-removed", by=designer.display_name, serial=row.serial)


@may_design
@require_POST
def revoke(request, pk):
    row = access.designers_build(request.user, pk)
    if row.invitation_id:
        Invitation.objects.filter(pk=row.invitation_id, used_at=None).update(revoked_at=timezone.now())
        messages.success(request, _("The invitation is withdrawn. Its link no longer works."))
    return redirect("review:builds", row.revision.kit.key, row.revision.letter)
