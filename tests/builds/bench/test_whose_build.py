"""A build is found only by whoever may see or change it; to all others it is not there."""

import pytest
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import Http404

from builds.bench.access import designers_build, locked_build, own_build, visible_build
from builds.guides.models import KitRole
from tests import factories

pytestmark = pytest.mark.django_db
FOR_WORK, FOR_EYES, FOR_DESIGN = (own_build, locked_build), visible_build, designers_build


@pytest.fixture
def build():
    return factories.make_build()


def finds(find, person, pk) -> bool:
    try:
        with transaction.atomic():
            return find(person, pk).pk == pk
    except Http404:
        return False


def test_the_builder_alone_adds_to_a_build(build):
    designer = build.revision.kit.designers.get()
    for find in FOR_WORK:
        assert finds(find, build.builder, build.pk)
        assert not finds(find, designer, build.pk)
        assert not finds(find, factories.make_builder(), build.pk)


def test_builder_and_designer_see_a_build_and_nobody_else_does(build):
    designer = build.revision.kit.designers.get()
    assert finds(FOR_EYES, build.builder, build.pk) and finds(FOR_EYES, designer, build.pk)
    assert finds(FOR_DESIGN, designer, build.pk) and not finds(FOR_DESIGN, build.builder, build.pk)
    for stranger in (factories.make_builder(), factories.make_designer()):
        assert not finds(FOR_EYES, stranger, build.pk) and not finds(FOR_DESIGN, stranger, build.pk)


def test_of_two_builds_of_one_person_the_one_asked_for_is_found(build):
    other = factories.make_build(builder=build.builder, revision=build.revision)
    designer = build.revision.kit.designers.get()
    for find, person in ((own_build, build.builder), (FOR_EYES, build.builder), (FOR_DESIGN, designer)):
        assert find(person, other.pk) == other and find(person, build.pk) == build
    with transaction.atomic():
        assert locked_build(build.builder, other.pk) == other


def test_who_may_only_read_a_kit_changes_no_build_of_it(build):
    designer = build.revision.kit.designers.get()
    KitRole.objects.update_or_create(kit=build.revision.kit, person=designer, defaults={"role": KitRole.Role.READER})
    assert finds(FOR_DESIGN, designer, build.pk)
    designer.is_changing = True
    with pytest.raises(PermissionDenied):
        designers_build(designer, build.pk)
