"""Making builds and the links that open them. A token is shown once and only its hash is kept."""
from datetime import timedelta

import segno
from django.db import transaction
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from builds.accounts.models import Invitation
from builds.bench.models import Build
from builds.guides.models import Revision

PASSWORD_LIFE = timedelta(days=2)


class InvitationError(ValueError):
    """Why a link cannot be made, as a sentence."""


@transaction.atomic
def make_build(revision: Revision, serial: str, *, by) -> tuple[Build, str]:
    """Make a build and its invitation; returns (build, token). Raises InvitationError unless the revision is issued."""
    if revision.state != Revision.State.ISSUED:
        raise InvitationError(f"Revision {revision.letter} is {revision.state}: only an issued revision can be built.")
    invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=by)
    return Build.objects.create(revision=revision, serial=serial, invitation=invitation,
                                mains_volts=revision.mains_volts, mains_hertz=revision.mains_hertz), token


@transaction.atomic
def renew(build: Build, *, by) -> str:
    """A new link in place of the old one, which stops working. Raises InvitationError once somebody builds it."""
    build = Build.objects.select_for_update().get(pk=build.pk)
    if build.builder_id:
        raise InvitationError(f"Build {build.serial} has a builder already.")
    revoke(build)
    build.invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=by)
    build.save(update_fields=["invitation"])
    return token


def revoke(build: Build) -> bool:
    """Stop an unused link; False when there was none to stop."""
    return bool(Invitation.objects.usable().filter(pk=build.invitation_id).update(revoked_at=timezone.now()))


@transaction.atomic
def password_link(build: Build, *, by) -> str:
    """A link with which the build's builder chooses a new password; earlier ones stop working."""
    if build.builder_id is None:
        raise InvitationError(f"Build {build.serial} has no builder yet.")
    # A designer's own password, and other designers', is not for a fellow designer to reset.
    if build.builder_id != by.pk and (build.builder.may_design or build.builder.kits.exists()):
        raise InvitationError(f"{build.builder} also designs kits, and resets the password by e-mail.")
    (Invitation.objects.usable().filter(person=build.builder, purpose=Invitation.Purpose.PASSWORD)
     .update(revoked_at=timezone.now()))
    return Invitation.make(Invitation.Purpose.PASSWORD, made_by=by, person=build.builder, life=PASSWORD_LIFE)[1]


def state_words(build: Build) -> str:
    """Where a build's invitation stands."""
    invitation = build.invitation
    if build.builder_id:
        return "taken up"
    if invitation is None:
        return "no link"
    if invitation.revoked_at:
        return "revoked"
    if invitation.used_at:
        return "used"
    return "expired" if invitation.expires_at <= timezone.now() else "waiting"


def qr_svg(address: str) -> SafeString:
    """The address as a QR code (ISO/IEC 18004), dark on white whatever the page's colours."""
    code = segno.make(address, error="m", micro=False)
    # segno writes geometry and colour attributes only, never the address itself.
    return mark_safe(code.svg_inline(scale=5, border=4, light="#fff", dark="#000", omitsize=True))  # noqa: S308
