"""Photos in a store of the S3 kind: a real server, in a process of its own, with a private bucket."""

import io
import os
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from builds import environment
from builds.bench.models import Build, Photo
from builds.bench.photos.storage import save_photo
from builds.guides.models import Kit
from builds.operations import backup, doctor, off_site, stored_files
from builds.reports.archive.write import write_archive
from builds.reports.papers import build_record
from tests import factories
from tests.access.calls import image
from tests.builds.operations.kit_files import entries, export, read_in, rows
from tests.builds.operations.store_server import BUCKET, OTHER_BUCKET, PROGRAM, object_store

pytestmark = pytest.mark.skipif(
    not Path(PROGRAM).exists() and not os.environ.get("CI"),
    reason="the store's program is not for this kind of machine",
)


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    with object_store(tmp_path_factory.mktemp("store")) as result:
        yield result


@pytest.fixture
def store(address, settings, monkeypatch):
    """The site's files are in the store; it is empty."""
    monkeypatch.setenv("MEDIA_STORE_URL", address)
    settings.STORAGES = settings.STORAGES | {"default": environment.media_store()}
    result = storages["default"]
    for name in list(stored_files.names()):
        result.delete(name)
    return result


@pytest.fixture
def photo(db, store):
    build = factories.make_build(revision=factories.make_revision(issued=False))
    return save_photo(image(), build=build, stage=build.revision.stages.first())


def sign_in(person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.lengthy
def test_a_photo_is_served_to_those_who_may_see_it_and_to_nobody_else(photo, store):
    address = reverse("bench:photo", args=[photo.build_id, photo.pk, "thumb"])
    served = sign_in(photo.build.builder).get(address)
    assert served.status_code == 200 and b"".join(served.streaming_content) == store.open(photo.thumb.name).read()
    assert sign_in(factories.make_builder()).get(address).status_code == 404
    bare = f"{store.endpoint_url}/{store.bucket_name}/{photo.thumb.name}"
    with pytest.raises(urllib.error.HTTPError) as refused:  # the bucket is private
        urllib.request.urlopen(bare, timeout=10)
    assert refused.value.code == 403


@pytest.mark.lengthy
def test_a_file_never_takes_the_place_of_another(store):
    first, second = store.save("photos/1/a.jpg", ContentFile(b"1")), store.save("photos/1/a.jpg", ContentFile(b"2"))
    assert first != second and store.open(first).read() == b"1"
    with pytest.raises(FileNotFoundError):
        store.open("photos/1/none.jpg")


@pytest.mark.lengthy
def test_papers_and_archives_show_photos_of_the_store(photo):
    with_it = len(build_record(photo.build))
    out = io.BytesIO()
    assert write_archive(out, photo.build.revision, lambda *_a, **_m: None) == 1
    photo.print_copy.storage.delete(photo.print_copy.name)
    assert len(build_record(photo.build)) < with_it


@pytest.mark.lengthy
def test_the_doctor_knows_what_is_in_the_store(photo, store):
    assert doctor.examine().is_well
    store.save("photos/1/lost.jpg", ContentFile(b"x"))
    assert doctor.examine(now=4e9).orphans == ["photos/1/lost.jpg"]
    store.delete(photo.full.name)
    assert doctor.examine().missing == [photo.full.name]


@pytest.mark.lengthy
def test_a_kit_goes_from_a_store_to_a_folder(photo, store, settings, tmp_path):
    path = export(photo.build.revision.kit, tmp_path / "a.zip")
    assert rows(entries(path), "bench.Photo")[0]["full"].startswith("files/")
    Photo.objects.all().delete()
    kit = read_in_again(path)
    assert {p.full.name for p in Photo.objects.filter(build__revision__kit=kit)} < set(stored_files.names())


def read_in_again(path):
    Build.objects.all().delete()
    Kit.objects.all().delete()
    return read_in(path, factories.make_designer())


@pytest.mark.lengthy
def test_what_a_store_that_is_gone_does_not_keep_is_said(photo, settings, monkeypatch):
    """The page says that nothing was saved; the row is not there either."""
    monkeypatch.setenv("MEDIA_STORE_URL", "s3://k:s@127.0.0.1:1/none?tls=off")
    settings.STORAGES = settings.STORAGES | {"default": environment.media_store()}
    monkeypatch.setattr("builds.accounts.not_saved._send", lambda text: None)
    address = reverse("bench:new-snag", args=[photo.build_id, "stage-1"])
    data = {"kind": "other", "severity": "slowed", "words": "Look.", "photo": image()}
    data["entry_key"] = "00000000-0000-4000-8000-000000000001"
    answer = sign_in(photo.build.builder).post(address, data)
    assert answer.status_code == 503 and not photo.build.snags.exists()


@pytest.mark.parametrize("url", ["s3://host/bucket", "s3://k:s@host/", "s3://k:s@host/a/b", "http://k:s@host/bucket"])
def test_a_wrong_address_stops_the_start(url, monkeypatch):
    monkeypatch.setenv("MEDIA_STORE_URL", url)
    with pytest.raises(ImproperlyConfigured, match="MEDIA_STORE_URL"):
        environment.media_store()


@pytest.mark.django_db(transaction=True)
class TestBackup:
    @pytest.mark.lengthy
    def test_a_backup_holds_the_store_and_restores_into_an_empty_bucket_only(self, photo, store, tmp_path):
        content = store.open(photo.thumb.name).read()
        made = backup.make(tmp_path / "kept", 1)
        with pytest.raises(backup.BackupError, match="empty bucket"):
            backup.restore(made, tmp_path / "new")
        for name in list(stored_files.names()):
            store.delete(name)
        backup._unpack_media(made / "media.tar", tmp_path / "new" / "media")
        assert store.open(photo.thumb.name).read() == content and not (tmp_path / "new").exists()
        call_command("doctor", verbosity=0, stdout=io.StringIO())

    @pytest.mark.lengthy
    def test_a_copy_goes_to_another_store_and_comes_back_from_there(self, photo, store, address, tmp_path, monkeypatch):
        monkeypatch.setenv("BACKUP_STORE_URL", address.replace(f"/{BUCKET}?", f"/{OTHER_BUCKET}?"))
        for _n in range(3):
            call_command("backup", tmp_path / "kept", keep=2, verbosity=0, stdout=io.StringIO())
        here = [path.name for path in backup.all_in(tmp_path / "kept")]
        assert off_site._names(off_site._store()) == here and len(here) == 2
        assert not any(backup.PREFIX in name for name in stored_files.names())
        said = io.StringIO()
        call_command("restore", here[-1], fetch_to=tmp_path / "fetched", check=True, stdout=said)
        fetched = tmp_path / "fetched" / here[-1]
        assert "complete" in said.getvalue()
        assert {p.name: p.read_bytes() for p in fetched.iterdir()} == {
            p.name: p.read_bytes() for p in (tmp_path / "kept" / here[-1]).iterdir()
        }
        with pytest.raises(CommandError, match="no backup"):
            call_command("restore", "kit-builds-none", fetch_to=tmp_path / "other", check=True)

    @pytest.mark.lengthy
    def test_backups_never_go_into_the_bucket_of_the_photos(self, photo, store, address, tmp_path, monkeypatch):
        """The doctor would take them for files that no row refers to, and the next backup would hold them."""
        monkeypatch.setenv("BACKUP_STORE_URL", address)
        with pytest.raises(CommandError, match="same bucket"):
            call_command("backup", tmp_path / "kept", verbosity=0, stdout=io.StringIO())
        assert len(backup.all_in(tmp_path / "kept")) == 1
        assert not any(backup.PREFIX in name for name in stored_files.names())
