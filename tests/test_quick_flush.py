"""After a test that really commits nothing is left, and what keeps rows as they are is in force again."""

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from builds.bench.models import Reading
from builds.guides.models import Revision, Stage
from tests import factories
from tests.clearing import clear_though_frozen

pytestmark = [pytest.mark.concurrent, pytest.mark.django_db(transaction=True)]


def read_build():
    revision = factories.make_revision()
    factories.add_reading(
        build=factories.make_build(revision=revision), check=factories.checks_of(revision=revision)[0]
    )
    return revision


def empty():
    """As after a test."""
    clear_though_frozen()
    if connection.vendor != "sqlite":
        call_command("flush", verbosity=0, interactive=False, reset_sequences=False, inhibit_post_migrate=True)


def test_a_quick_flush_leaves_no_rows():
    read_build()
    empty()
    assert not Reading.objects.exists() and not Revision.objects.exists()


def test_rows_are_kept_as_they_are_again():
    read_build()
    empty()
    revision = read_build()
    with pytest.raises(DatabaseError), transaction.atomic():
        Stage.objects.filter(revision=revision).update(title="Another")
    clear_though_frozen()
