"""The archive: everything in one file, checked with other tools, made in constant memory."""

import csv
import io
import json
import re
import subprocess
import tracemalloc
import unicodedata
from pathlib import Path
from zipfile import ZipFile

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from builds.bench.models import Build, Photo, Snag
from builds.bench.photos.withdrawing import withdraw
from builds.reports.archive import storing
from builds.reports.archive.names import safe
from builds.reports.archive.write import write_archive
from tests import factories
from tests.access.calls import image

pytestmark = pytest.mark.django_db


def silent(done, total, step="", **params):
    """A reporter that says nothing."""


def add_photo(build, size=1000, content=None, **about):
    photo = Photo(build=build, stage=build.revision.stages.first(), width=4, height=3, **about)
    photo.full.save("p.jpg", content or ContentFile(b"\xff\xd8" + bytes(size)), save=False)
    photo.print_copy = photo.thumb = photo.full.name
    photo.save()
    return photo


def written(revision, report=silent) -> ZipFile:
    out = io.BytesIO()
    write_archive(out, revision, report)
    return ZipFile(out)


def at(name, revision):
    return reverse(f"reports:{name}", args=[revision.kit.key, revision.letter])


@pytest.mark.lengthy
def test_the_archive_holds_every_paper_file_and_photo(revision):
    add_photo(revision.builds.first(), step=revision.stages.first().steps.first())
    made = written(revision)
    assert made.testzip() is None
    names = made.namelist()
    serial = revision.builds.first().serial
    assert {
        "READ-ME.txt",
        "fault-summary.pdf",
        "fault-summary.json",
        "readings.csv",
        "changes.csv",
        "photos.csv",
        "SHA256SUMS",
        "stages/01-stage-1.pdf",
        "stages/02-stage-2.pdf",
        f"photos/{serial}/0001-stage-1-step-1-1.jpg",
    } == set(names)
    assert json.loads(made.read("fault-summary.json"))["format"] == "fault-summary-1"
    assert len(PdfReader(io.BytesIO(made.read("fault-summary.pdf"))).pages) > 2
    assert len(made.read("readings.csv").splitlines()) == 25


@pytest.mark.lengthy
def test_the_check_sums_are_right_by_another_program(revision, tmp_path):
    add_photo(revision.builds.first())
    made = written(revision)
    made.extractall(tmp_path)
    done = subprocess.run(
        ["sha256sum", "--check", "--strict", "SHA256SUMS"], cwd=tmp_path, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.count(": OK") == len(made.namelist()) - 1
    (tmp_path / "readings.csv").write_text("changed")
    assert subprocess.run(["sha256sum", "--check", "SHA256SUMS"], cwd=tmp_path, capture_output=True).returncode == 1


@pytest.mark.lengthy
def test_a_photo_whose_file_is_gone_is_listed_as_gone(revision):
    lost, there = add_photo(revision.builds.first()), add_photo(revision.builds.last())
    Path(lost.full.path).unlink()
    made = written(revision)
    listed = list(csv.DictReader(io.StringIO(made.read("photos.csv").decode(), newline="")))
    assert [row["file"] == "gone" for row in listed] == [True, False]
    assert made.read(listed[1]["file"]) == Path(there.full.path).read_bytes()


@pytest.mark.lengthy
def test_writing_an_archive_reports_its_progress(revision):
    reported = []
    add_photo(revision.builds.first())
    written(revision, lambda done, total, step="", **params: reported.append((done, total)))
    assert [d for d, _ in reported] == sorted(d for d, _ in reported)
    assert reported[-1] == (7, 7) and {t for _, t in reported} == {7}


@pytest.mark.lengthy
def test_memory_does_not_grow_with_the_photos(revision):
    """Photos of 24 MB altogether go through a buffer: the most ever held is far less than one more of them would
    need."""

    def peak():
        with open("/dev/null", "wb") as out:
            tracemalloc.start()
            write_archive(out, revision, silent)
            result = tracemalloc.get_traced_memory()[1]
            tracemalloc.stop()
        return result

    written(revision)  # fonts and templates are read once
    few = peak()
    for _ in range(12):
        add_photo(revision.builds.first(), size=2_000_000)
    assert peak() - few < 1_000_000


@pytest.mark.lengthy
def test_a_new_archive_takes_the_place_of_the_old(desk, revision):
    assert desk.get(at("fetch-archive", revision)).status_code == 404
    assert "Make the archive" in desk.get(at("archive", revision)).content.decode()
    assert desk.post(at("make-archive", revision)).status_code == 302
    first = storing.find_job(revision).result["name"]
    assert "Download archive" in desk.get(at("archive", revision)).content.decode()
    add_photo(revision.builds.first())
    desk.post(at("make-archive", revision))
    made = storing.find_job(revision).result
    assert (made["photos"], default_storage.exists(first), default_storage.exists(made["name"])) == (1, False, True)
    answer = desk.get(at("fetch-archive", revision))
    assert answer.streaming and answer["Content-Disposition"].endswith('.zip"')
    assert int(answer["Content-Length"]) == made["bytes"]
    assert ZipFile(io.BytesIO(b"".join(answer.streaming_content))).testzip() is None


@pytest.mark.lengthy
def test_an_archive_whose_file_is_gone_can_be_made_again(desk, revision):
    storing.request_archive(revision)
    default_storage.delete(storing.find_job(revision).result["name"])
    assert desk.get(at("fetch-archive", revision)).status_code == 404
    storing.request_archive(revision)
    assert desk.get(at("fetch-archive", revision)).status_code == 200


def test_with_htmx_the_page_is_the_part_that_asks_again(desk, revision):
    body = desk.get(at("archive", revision), headers={"hx-request": "true"}).content.decode()
    assert "<html" not in body and "Make the archive" in body


@pytest.mark.lengthy
@given(st.text(max_size=60))
def test_no_file_name_leads_out_of_the_archives_folder(text):
    name = safe(text)
    assert name and len(name) <= 40 and not set(name) & set("/\\.:") and name == name.strip("-")


def runs_as_formula(cell: str) -> bool:
    """What a spreadsheet may take for one (OWASP, CSV Injection, from memory), whole or from a separator on, by this
    test's own reading: compatibility forms are one character, blanks and controls are skipped."""
    pieces = [cell, *re.split(r"[;\t\r\n]", cell)]
    seen = (unicodedata.normalize("NFKC", piece).lstrip(' \t\r\n\u00a0\u200b,;|:"') for piece in pieces)
    return any(piece.startswith(("=", "+", "-", "@")) for piece in seen)


@pytest.mark.lengthy
@pytest.mark.parametrize(
    "before", ["=", "+", "-", "@", "\t=", " =", "＝", "＋", ";=", "a;=", '"=', "\n=", "a\n@", "\u200b="]
)
def test_no_cell_of_the_list_of_photos_runs_as_a_formula(revision, before):
    """A builder types the words of a snag, a designer the serial number."""
    formula = f'{before}HYPERLINK("http://x.example")'
    build, stage = revision.builds.first(), revision.stages.first()
    snag = Snag.objects.create(build=build, stage=stage, kind="other", words=formula, by=build.builder)
    Build.objects.filter(pk=build.pk).update(serial=formula[:30])
    add_photo(build, content=image(), snag=snag)  # the stage's page shows it
    (row,) = csv.DictReader(io.StringIO(written(revision).read("photos.csv").decode(), newline=""))
    assert "HYPERLINK" in row["snag"] and "HYPERLINK" in row["build"]
    assert not [cell for cell in row.values() if runs_as_formula(cell)]


@pytest.mark.lengthy
def test_the_list_of_photos_quotes_what_would_begin_a_row_or_a_column(revision):
    words = 'He said "off",\r\nphotos/x.jpg,0001,then = nothing'
    build, stage = revision.builds.first(), revision.stages.first()
    snag = Snag.objects.create(build=build, stage=stage, kind="other", words=words, by=build.builder)
    add_photo(build, content=image(), snag=snag)  # the stage's page shows it
    rows = list(csv.DictReader(io.StringIO(written(revision).read("photos.csv").decode(), newline="")))
    assert [row["snag"] for row in rows] == [words]


@pytest.mark.lengthy
def test_a_photo_of_another_revision_is_in_no_archive(revision):
    add_photo(factories.make_build(revision=factories.make_revision(kit=revision.kit, letter="Z")))
    assert written(revision).read("photos.csv").count(b"\r\n") == 1


@pytest.mark.lengthy
def test_a_withdrawn_photo_is_in_no_archive_made_before(desk, revision, django_capture_on_commit_callbacks):
    """Its files are promised to be gone; those of the archive are files too."""
    photo = add_photo(revision.builds.first())
    desk.post(at("make-archive", revision))
    name = storing.find_job(revision).result["name"]
    with django_capture_on_commit_callbacks(execute=True):
        withdraw(photo)
    assert not default_storage.exists(name)
    assert desk.get(at("fetch-archive", revision)).status_code == 404
    assert "Make the archive" in desk.get(at("archive", revision)).content.decode()
    desk.post(at("make-archive", revision))
    assert desk.get(at("fetch-archive", revision)).status_code == 200
    assert storing.find_job(revision).result["photos"] == 0


@pytest.mark.lengthy
def test_an_archive_begun_before_a_photo_was_withdrawn_is_not_served(desk, revision):
    """It was read into the archive a moment before, and the archive written a moment after."""
    photo = add_photo(revision.builds.first())
    desk.post(at("make-archive", revision))
    Photo.objects.filter(pk=photo.pk).update(withdrawn_at=storing.find_job(revision).started_at)
    assert desk.get(at("fetch-archive", revision)).status_code == 404
