"""Rows of a guide and the leave to see them arrive together: a stranger gets 404."""

from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from builds.guides.models import Kit, Revision


def designers_kit(person, kit_key: str) -> Kit:
    return get_object_or_404(Kit.objects.designed_by(person), key=kit_key)


def designers_revision(person, kit_key: str, letter: str) -> Revision:
    revisions = Revision.objects.designed_by(person).select_related("kit")
    return get_object_or_404(revisions, kit__key=kit_key, letter=letter)


def draft_revision(person, kit_key: str, letter: str) -> Revision:
    """A designer's revision that may still be edited; 403 once it is issued."""
    revision = designers_revision(person, kit_key, letter)
    if not revision.is_draft:
        raise PermissionDenied(
            _("Revision %(letter)s is %(state)s and can no longer be edited.")
            % {"letter": revision.letter, "state": revision.state_label}
        )
    return revision
