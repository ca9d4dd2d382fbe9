"""Builds and the leave to see or change them arrive together: a stranger gets 404."""

from django.shortcuts import get_object_or_404

from builds.bench.models import Build
from builds.guides.access import for_role


def own_build(person, pk: int) -> Build:
    """A build this person is building (the only one who may add to it)."""
    return get_object_or_404(Build.objects.built_by(person).with_guide(), pk=pk)


def locked_build(person, pk: int) -> Build:
    """`own_build`, held until the transaction ends: two posts at once take their turns."""
    locked = Build.objects.built_by(person).select_related("revision", "meter").select_for_update(of=("self",))
    return get_object_or_404(locked, pk=pk)


def visible_build(person, pk: int) -> Build:
    """A build this person is building or whose kit they design."""
    return get_object_or_404(Build.objects.visible_to(person).with_guide(), pk=pk)


def designers_build(person, pk: int) -> Build:
    build = get_object_or_404(Build.objects.designed_by(person).with_guide(), pk=pk)
    for_role(person, build.revision.kit)
    return build
