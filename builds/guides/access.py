"""Rows of a guide and the leave to see them arrive together: a stranger gets 404."""

from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from builds.guides.models import Kit, KitRole, Revision, find_role


def designers_kit(person, kit_key: str) -> Kit:
    return for_role(person, get_object_or_404(Kit.objects.designed_by(person), key=kit_key))


def owners_kit(person, kit_key: str) -> Kit:
    """A kit this person owns; 403 for its other designers."""
    kit = get_object_or_404(Kit.objects.designed_by(person), key=kit_key)
    if find_role(person, kit) != KitRole.Role.OWNER:
        raise PermissionDenied(_("Only owners of the kit have access to this page."))
    person.acting_on = kit.key
    return kit


def for_role(person, kit: Kit) -> Kit:
    """The kit, unless this is a reader who would change something (accounts.access says who would)."""
    if getattr(person, "is_changing", False) and find_role(person, kit) == KitRole.Role.READER:
        raise PermissionDenied(_("You can read this kit, but not change it. Ask an owner."))
    person.acting_on = kit.key
    return kit


def designers_revision(person, kit_key: str, letter: str) -> Revision:
    revisions = Revision.objects.designed_by(person).select_related("kit")
    revision = get_object_or_404(revisions, kit__key=kit_key, letter=letter)
    for_role(person, revision.kit)
    return revision


def draft_revision(person, kit_key: str, letter: str) -> Revision:
    """A designer's revision that may still be edited; 403 once it is issued."""
    revision = designers_revision(person, kit_key, letter)
    if not revision.is_draft:
        raise PermissionDenied(
            _("Revision %(letter)s is %(state)s and can no longer be edited.")
            % {"letter": revision.letter, "state": revision.state_label}
        )
    return revision
