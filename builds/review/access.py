"""Rows of the designer's pages and the leave to see them arrive together: a stranger gets 404."""
from django.shortcuts import get_object_or_404

from builds.bench.models import Build, Snag
from builds.guides.access import designers_revision
from builds.guides.models import Check, Revision


def revision_of(person, kit: str, letter: str) -> Revision:
    return designers_revision(person, kit, letter)


def build_of(revision: Revision, pk: int) -> Build:
    return get_object_or_404(revision.builds.select_related("builder", "meter", "invitation", "revision__kit"), pk=pk)


def check_of(revision: Revision, stage: str, key: str) -> Check:
    return get_object_or_404(Check.objects.select_related("stage"), stage__revision=revision, stage__key=stage,
                             key=key)


def snag_of(build: Build, pk: int) -> Snag:
    return get_object_or_404(build.snags.select_related("stage", "step", "check_row", "part", "by"), pk=pk)
