"""A site that was kept comes back whole, files and all; what was half made is made again."""

import pytest
from django.core.files.storage import default_storage
from django.db import DatabaseError, connection, transaction

from builds.bench.gates.facts import load_facts
from builds.bench.models import Build
from builds.bench.photos.storage import save_photo
from builds.bench.readings.taking import take_reading
from builds.guides.models import Stage
from builds.review.demo.photos import draw_photo
from tests import factories
from tests.clearing import clear_though_frozen
from tests.kept_site import kept_site

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "sqlite", reason="kept on SQLite alone"),
    pytest.mark.lengthy,
]


@pytest.fixture(autouse=True)
def cleared(transactional_db):
    yield
    clear_though_frozen()


def make() -> dict:
    build = factories.make_build()
    check = factories.checks_of(revision=build.revision)[0]
    take_reading(build, check, "300 V", by=build.builder)
    photo = save_photo(draw_photo("a.jpg", "X", "x"), build=build, stage=check.stage, by=build.builder)
    return {"build": build.pk, "photo": photo.full.name}


def never() -> dict:
    raise AssertionError("made twice")


def test_rows_and_files_come_back(tmp_path, settings):
    made = kept_site(tmp_path / "site", make)
    facts = load_facts(Build.objects.get(pk=made["build"]))
    clear_though_frozen()
    settings.MEDIA_ROOT = tmp_path / "other"
    assert kept_site(tmp_path / "site", never) == made
    build = Build.objects.get(pk=made["build"])
    assert load_facts(build) == facts and build.builder.check_password(factories.PASSWORD)
    assert default_storage.exists(made["photo"])


def test_what_is_issued_is_frozen_when_it_comes_back(tmp_path):
    made = kept_site(tmp_path / "site", make)
    clear_though_frozen()
    kept_site(tmp_path / "site", never)
    stages = Stage.objects.filter(revision=Build.objects.get(pk=made["build"]).revision)
    with pytest.raises(DatabaseError), transaction.atomic():
        stages.update(title="Another")


def test_a_site_that_could_not_be_made_is_made_again(tmp_path):
    with pytest.raises(AssertionError):
        kept_site(tmp_path / "site", never)
    assert kept_site(tmp_path / "site", make)["build"]
