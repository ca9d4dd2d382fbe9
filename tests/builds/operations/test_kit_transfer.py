"""A kit goes from one installation to another whole, or not at all."""

import json
import os
import sqlite3
import subprocess
import sys

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from builds.accounts.models import Person
from builds.bench.models import Build, Photo, Reading, Sheet, Snag
from builds.guides import offers
from builds.guides.figures import band_for
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.guide_file.write import write_guide
from builds.guides.models import CircuitFigures, FigureCorrection, Kit, KitRole, Revision, Step
from builds.operations.transfer import tables
from builds.operations.transfer.errors import TransferError
from builds.operations.transfer.exporting import reading_one_moment
from builds.operations.transfer.people import People
from builds.review.models import Decision, IssuedChanges
from tests import factories
from tests.access.cast import make_cast
from tests.builds.guides.test_circuit import GUIDE
from tests.builds.operations.kit_files import entries, essence, export, read_in, rows
from tests.clearing import clear_though_frozen

OURS = ("accounts", "guides", "bench", "review")


def clear_all() -> None:
    if connection.vendor == "sqlite":
        clear_though_frozen()
    else:
        call_command("flush", verbosity=0, interactive=False, inhibit_post_migrate=True)


@pytest.fixture
def committed(transactional_db):
    yield
    clear_all()


def test_every_table_of_a_kit_travels_or_is_left_out_with_a_reason():
    ours = {model._meta.label for app in OURS for model in apps.get_app_config(app).get_models()}
    assert ours == set(tables.PATHS) | set(tables.LEFT_OUT)
    for label in tables.PATHS:
        many = {f.name for f in apps.get_model(label)._meta.many_to_many}
        assert many == set(tables.MANY.get(label, ())) or (label, many) == ("guides.Kit", {"designers"})


def test_rows_are_added_after_those_they_name():
    before: set[str] = set()
    for label in tables.PATHS:
        for field in tables.list_fields(label):
            other = field.related_model and field.related_model._meta.label
            if other and field.name not in tables.LATER.get(label, ()):
                assert other in before | {"accounts.Person"}, f"{label}.{field.name}"
        before.add(label)


@pytest.mark.lengthy
def test_a_kit_is_the_same_on_the_other_side(committed, tmp_path):
    """Rows, links, photos and people of a kit that has something of everything."""
    cast = make_cast()
    Snag.objects.filter(pk=cast.same_snag.pk).update(merged_into=cast.snag)
    _decide(cast)
    before = entries(export(cast.revision.kit, tmp_path / "a.zip"))
    key, stops = cast.revision.kit.key, Reading.objects.filter(outcome="switch off").count()
    clear_all()
    owner = factories.make_designer(name="New owner")
    kit = read_in(tmp_path / "a.zip", owner)
    after = entries(export(kit, tmp_path / "b.zip"))
    assert stops and kit.key == key and Reading.objects.filter(outcome="switch off").count() == stops
    was, now = essence(before), essence(after)
    assert now.pop("accounts.Event")[-1]["action"] == "kit-imported" and was.pop("accounts.Event") is not None
    (listed,) = [row.pop("listed") for row in now["review.IssuedChanges"]]
    assert was["review.IssuedChanges"][0].pop("listed") and now == was
    decision = Decision.objects.get()
    assert listed["changes"][0]["decision"] == decision.pk
    assert listed["changes"][0]["snags"] == [{"id": decision.snag_id, "serial": "1", "words": "A snag"}]
    assert sum(bool(result) for result in now.values()) > 23
    assert list(kit.designers.all()) == [owner]
    assert Build.objects.exclude(invitation=None).count() == 0
    photo = Photo.objects.first()
    assert photo.thumb.read() and str(photo.build.pk)


def corrected_kit(**changed):
    """A kit with a check whose figures an erratum corrected, and a reading in band by those as issued alone."""
    build = factories.make_build()
    check = build.revision.stages.first().checks.first()
    factories.reading_row(build=build, check=check).save()
    fields = ("expected", "band", "low", "high", "at_least", "at_most", "stop_below", "stop_above")
    figures = dict.fromkeys(fields, "") | {"expected": "200 V", "band": "5%", "stop_above": "250 V"} | changed
    FigureCorrection.objects.create(check_row=check, figures=figures)
    Revision.objects.filter(pk=build.revision_id).update(corrected_at=timezone.now())
    return build.revision.kit


@pytest.mark.lengthy
def test_corrected_figures_hold_on_the_other_side_too(committed, tmp_path):
    export(corrected_kit(), tmp_path / "a.zip")
    clear_all()
    kit = read_in(tmp_path / "a.zip", factories.make_designer(name="New owner"))
    check = kit.revisions.get().stages.first().checks.first()
    assert check.expected == "300 V" and band_for(check).expected == 200.0 and band_for(check).stop_above == 250.0


@pytest.mark.lengthy
@pytest.mark.parametrize("changed", [{"stop_above": "9 ohm"}, {"other": "1 V"}, {"low": 5}])
def test_corrected_figures_that_nothing_can_be_judged_by_are_not_read_in(committed, tmp_path, changed):
    export(corrected_kit(**changed), tmp_path / "a.zip")
    clear_all()
    with pytest.raises(TransferError, match="corrected figures"):
        read_in(tmp_path / "a.zip", factories.make_designer(name="New owner"))


OTHER_SITE = """
import sys
import django
django.setup()
from django.core.management import call_command
from builds.accounts.models import Person
call_command("migrate", verbosity=0)
Person.objects.create_person("Other owner", None)
call_command("import_kit", sys.argv[1], owner="Other owner", as_it_is=True)
call_command("export_kit", sys.argv[3], sys.argv[2])
"""


@pytest.mark.lengthy
def test_a_kit_goes_to_an_installation_on_sqlite_and_back(committed, tmp_path):
    """A site of its own, in a process of its own: from here, on SQLite or PostgreSQL, to SQLite, and back here."""
    cast = make_cast()
    before = entries(export(cast.revision.kit, tmp_path / "a.zip"))
    clear_all()
    (tmp_path / "site").mkdir()
    environment = {**os.environ, "DATA_DIR": str(tmp_path / "site"), "DJANGO_SETTINGS_MODULE": "builds.settings"}
    environment.pop("DATABASE_URL", None)
    where = [str(tmp_path / "a.zip"), str(tmp_path / "b.zip"), cast.revision.kit.key]
    ran = subprocess.run(
        [sys.executable, "-c", OTHER_SITE, *where],
        env=environment,
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
    )
    assert ran.returncode == 0, ran.stderr[-2000:]
    kit = read_in(tmp_path / "b.zip", factories.make_designer())
    was, now = essence(before), essence(entries(export(kit, tmp_path / "c.zip")))
    assert [row["action"] for row in now.pop("accounts.Event")] == ["kit-imported", "kit-imported"]
    assert was.pop("accounts.Event") == [] and now == was


def _decide(cast) -> None:
    """A snag decided on, and the change list that names both by their numbers; a worksheet with a reading."""
    decision = Decision.objects.create(revision=cast.revision, snag=cast.snag, state="accepted", draft=cast.draft)
    snags = [{"id": cast.snag.pk, "serial": "1", "words": "A snag"}]
    change = {
        "decision": decision.pk,
        "about": "",
        "of": "A",
        "edits": [],
        "reason": "",
        "evidence": "",
        "snags": snags,
    }
    listed = {"changes": [change], "by_hand": [], "errata": [], "aside": [], "written": None}
    IssuedChanges.objects.create(revision=cast.later, listed=listed).snags.add(cast.snag)
    sheet = Sheet.objects.create(build=cast.build, stage=cast.stage, by=cast.builder)
    sheet.readings.add(*Reading.objects.filter(build=cast.build))


@pytest.mark.lengthy
def test_an_issued_revision_is_frozen_again_and_its_readings_stay(committed, tmp_path):
    cast = make_cast()
    path = export(cast.revision.kit, tmp_path / "a.zip")
    clear_all()
    kit = read_in(path, factories.make_designer())
    step = Step.objects.filter(stage__revision__kit=kit, stage__revision__state="issued").first()
    for change in (
        lambda: Step.objects.filter(pk=step.pk).update(text="other"),
        lambda: Reading.objects.update(typed="1"),
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            change()


def test_a_kit_is_written_while_builders_work(committed, tmp_path):
    build = factories.make_build()
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL's readers hold nobody up")
    with reading_one_moment():
        assert Build.objects.count() == 1
        with sqlite3.connect(connection.settings_dict["NAME"], timeout=0.1) as other:
            other.execute("UPDATE bench_build SET serial = 'X' WHERE id = ?", [build.pk])
        assert Build.objects.get().serial == build.serial
    assert Build.objects.get().serial == "X"


@pytest.mark.django_db
class TestPeople:
    @pytest.fixture
    def file(self, tmp_path):
        """A kit that was here, and is gone: of an owner, an editor and a builder, two of them with addresses."""
        owner, editor = factories.make_designer(name="Old owner"), factories.make_builder(name="Old editor")
        Person.objects.filter(pk=editor.pk).update(email="editor@example.org")
        revision = factories.make_revision(designer=owner, issued=False)
        revision.kit.designers.add(editor)
        KitRole.objects.create(kit=revision.kit, person=editor, role="editor")
        builder = factories.make_builder(name="Builder 07")
        Person.objects.filter(pk=builder.pk).update(email="seven@example.org")
        factories.make_build(revision=revision, builder=builder)
        path = export(revision.kit, tmp_path / "a.zip", addresses=True)
        export(revision.kit, tmp_path / "nameless.zip")
        Build.objects.all().delete()
        Kit.objects.all().delete()
        Person.objects.all().delete()
        return path

    @pytest.mark.lengthy
    def test_nobody_can_sign_in_as_a_placeholder(self, file, rf):
        read_in(file, factories.make_designer())
        made = Build.objects.get().builder
        assert made.display_name == "Builder 07" and not made.has_usable_password() and not made.may_design
        for password in ("", "!", factories.PASSWORD):
            assert authenticate(rf.get("/"), username="Builder 07", password=password) is None

    @pytest.mark.lengthy
    def test_a_name_that_is_taken_is_another_person(self, file):
        mine = factories.make_builder(name="BUILDER 07")
        read_in(file, factories.make_designer())
        made = Build.objects.get().builder
        assert made != mine and made.display_name == "Builder 07 2"

    @pytest.mark.lengthy
    def test_people_are_matched_by_address_only_where_asked(self, file):
        mine = factories.make_builder(name="Somebody else")
        factories.give_address(mine, "Seven@example.org")
        read_in(file, factories.make_designer(), People(by_address=True))
        assert Build.objects.get().builder == mine

    @pytest.mark.lengthy
    def test_an_address_that_was_never_confirmed_matches_nobody(self, file):
        factories.give_address(factories.make_builder(), "seven@example.org", confirmed=False)
        read_in(file, factories.make_designer(), People(by_address=True))
        assert Build.objects.get().builder.display_name == "Builder 07"

    @pytest.mark.lengthy
    def test_an_address_that_two_have_matches_nobody(self, file):
        factories.make_builder(), factories.make_builder()
        Person.objects.update(email="seven@example.org", confirmed_email="seven@example.org")
        read_in(file, factories.make_designer(), People(by_address=True))
        assert Build.objects.get().builder.display_name == "Builder 07" and Build.objects.get().builder.email == ""

    @pytest.mark.lengthy
    def test_designers_who_are_known_are_offered_their_roles_and_placeholders_design_nothing(self, file):
        owner, mine = factories.make_designer(), factories.make_builder()
        kit = read_in(file, owner, People(chosen={"Old editor": mine}))
        assert set(kit.designers.all()) == {owner}
        assert offers.accept(mine, kit.offers.get().pk) and set(kit.designers.all()) == {owner, mine}
        assert KitRole.objects.get(kit=kit, person=mine).role == "editor"
        assert not KitRole.objects.filter(person=owner).exists()

    @pytest.mark.lengthy
    def test_addresses_go_along_only_where_asked(self, file, tmp_path):
        assert b"seven@example.org" in entries(file)["people.jsonl"]
        assert all(b"example.org" not in raw for raw in entries(tmp_path / "nameless.zip").values())

    @pytest.mark.lengthy
    def test_a_person_named_by_hand_must_be_in_the_file(self, file):
        owner = factories.make_designer(name="Owner here")
        with pytest.raises(CommandError, match="Nobody in the file"):
            call_command("import_kit", file, owner="Owner here", person=["Nobody=Owner here"])
        assert not Kit.objects.exists() and owner.kits.count() == 0


@pytest.mark.lengthy
@pytest.mark.django_db
def test_no_password_link_or_token_is_in_the_file(tmp_path):
    cast = make_cast()
    content = entries(export(cast.revision.kit, tmp_path / "a.zip", addresses=True))
    text = b"".join(raw for name, raw in content.items() if name.endswith("jsonl"))
    secret = [cast.token, cast.builder.password, *(t.token_hash for t in cast.tokens.values()), "token_hash"]
    assert cast.builder.display_name.encode() in text
    assert not any(word.encode() in text for word in secret)
    assert "invitation" not in rows(content, "bench.Build")[0]


@pytest.mark.lengthy
@pytest.mark.django_db
def test_figures_of_a_file_answer_for_no_other_kit(tmp_path):
    """Figures are found by the hash of a circuit: a file could otherwise say what another kit's readings should be."""
    revision = factories.make_revision(issued=False)
    figures = CircuitFigures.objects.create(key="f" * 64, detail={"checks": {"a/b": {"value": 1.0}}})
    Revision.objects.filter(pk=revision.pk).update(figures=figures)
    path = export(revision.kit, tmp_path / "a.zip")
    Revision.objects.all().delete()
    figures.delete()
    kit = read_in(path, factories.make_designer(), key="again")
    kept = kit.revisions.get().figures
    assert kept.detail == figures.detail and kept.key != "f" * 64
    assert not CircuitFigures.objects.filter(key="f" * 64).exists()


@pytest.mark.lengthy
@pytest.mark.django_db
def test_an_imported_kit_shares_the_figures_that_are_stored_already(tmp_path):
    revision = factories.make_revision(issued=False)
    figures = CircuitFigures.objects.create(key="f" * 64, detail={"checks": {}})
    Revision.objects.filter(pk=revision.pk).update(figures=figures)
    kit = read_in(export(revision.kit, tmp_path / "a.zip"), factories.make_designer(), key="again")
    assert kit.revisions.get().figures == figures


@pytest.mark.django_db
def test_a_kit_that_is_here_is_never_overwritten(tmp_path):
    revision = factories.make_revision(issued=False)
    path = export(revision.kit, tmp_path / "a.zip")
    with pytest.raises(CommandError, match="ever overwritten"):
        call_command("import_kit", path, owner=revision.kit.designers.get().display_name)
    assert Kit.objects.count() == 1


@pytest.mark.lengthy
@pytest.mark.django_db
def test_commands_write_once_and_check_without_adding(tmp_path, capsys):
    build = factories.make_build(revision=factories.make_revision(issued=False))
    kit, name = build.revision.kit, build.revision.kit.designers.get().display_name
    call_command("export_kit", kit.key, tmp_path / "a.zip")
    with pytest.raises(CommandError):
        call_command("export_kit", kit.key, tmp_path / "a.zip")
    with pytest.raises(CommandError):
        call_command("export_kit", "no-such-kit", tmp_path / "b.zip")
    assert [path.name for path in tmp_path.glob("*.zip")] == ["a.zip"]
    assert (tmp_path / "a.zip").stat().st_mode & 0o077 == 0
    people = Person.objects.count()
    call_command("import_kit", tmp_path / "a.zip", owner=name, key="tried", check=True)
    assert "nothing was added" in capsys.readouterr().out
    assert (Kit.objects.count(), Build.objects.count(), Person.objects.count()) == (1, 1, people)
    call_command("import_kit", tmp_path / "a.zip", owner=name, key="tried")
    assert Build.objects.filter(revision__kit__key="tried").count() == 1


@pytest.mark.lengthy
@pytest.mark.django_db
def test_a_kit_is_read_in_where_a_photo_was_lost(tmp_path):
    cast = make_cast()
    lost = Photo.objects.filter(pk=cast.photo.pk)
    cast.photo.full.storage.delete(cast.photo.full.name)
    content = entries(export(cast.revision.kit, tmp_path / "a.zip"))
    assert lost.exists() and [row["full"] for row in rows(content, "bench.Photo")].count(None) == 1
    assert json.loads(content["kit.json"])["counts"]["bench.Photo"] == len(rows(content, "bench.Photo"))


@pytest.mark.lengthy
@pytest.mark.django_db
def test_an_issued_guide_that_keeps_the_rules_is_read_in_as_it_is(tmp_path):
    revision = store_guide(read_guide(GUIDE.encode()), factories.make_designer())
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    path = export(revision.kit, tmp_path / "a.zip")
    kit = read_in(path, factories.make_designer(), key="again", as_it_is=False)
    assert kit.revisions.get().state == "issued"
    assert write_guide(kit.revisions.get()) == write_guide(revision).replace(
        f'key = "{revision.kit.key}"', 'key = "again"'
    )
