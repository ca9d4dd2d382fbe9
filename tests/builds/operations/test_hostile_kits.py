"""Files of a kit that are damaged, or made to do harm, are refused, and nothing of them is left behind.

Names of entries, lengths and sums are those of a zip (PKWARE's APPNOTE.TXT, 4.3.12 to 4.3.16)."""

import io
import json
import struct
import tracemalloc
import zipfile
from pathlib import Path

import pytest
from django.conf import settings as project
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builds.accounts.models import Person
from builds.bench.models import Build
from builds.guides.models import Kit
from builds.operations.transfer.archive import SUMS, Reader
from builds.operations.transfer.errors import TransferError
from tests import factories
from tests.access.cast import make_cast
from tests.builds.operations.kit_files import entries, export, pack, put_rows, read_in, rows

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def content(django_db_setup, django_db_blocker, tmp_path_factory):
    """What is in the file of a kit; the kit itself is gone again."""
    folder = tmp_path_factory.mktemp("kit")
    with django_db_blocker.unblock(), transaction.atomic():
        cast = make_cast()
        result = entries(export(cast.revision.kit, folder / "a.zip"))
        transaction.set_rollback(True)
    return result


@pytest.fixture(scope="module")
def packed(content, tmp_path_factory) -> bytes:
    return pack(content, tmp_path_factory.mktemp("packed") / "a.zip").read_bytes()


@pytest.fixture
def owner():
    return factories.make_designer()


def refused(content, path, owner, match: str) -> None:
    people, files = Person.objects.count(), _files()
    with pytest.raises(TransferError, match=match):
        read_in(pack(content, path), owner)
    assert not Kit.objects.exists() and not Build.objects.exists()
    assert Person.objects.count() == people and _files() == files


def _files() -> set[Path]:
    return {path for path in Path(project.MEDIA_ROOT).rglob("*") if path.is_file()}


def changed(content, label: str, number: int = 0, **values) -> dict[str, bytes]:
    result, changed = rows(content, label), dict(content)
    result[number] |= values
    put_rows(changed, label, result)
    return changed


ROWS = {
    "a reading's outcome that is none": ("bench.Reading", {"outcome": "fine"}, "not an accepted value"),
    "a stop limit longer than its column": ("guides.Check", {"stop_above": "4" * 31}, "not accepted"),
    "a measure that is none": ("guides.Check", {"measure": "courage"}, "not an accepted value"),
    "a build without a revision": ("bench.Build", {"revision": None}, "not in the file"),
    "a reading of a build that is not in the file": ("bench.Reading", {"build": 10**9}, "not in the file"),
    "a number that is a text": ("bench.Reading", {"build": "1"}, "not in the file"),
    "a number that is a truth": ("bench.Reading", {"build": True}, "not in the file"),
    "a person who is not in the file": ("bench.Snag", {"by": 10**9}, "not in the file"),
    "a value that is a text": ("bench.Reading", {"value": "300"}, "wrong type"),
    "an attempt below nought": ("bench.Reading", {"attempt": -1}, "not accepted"),
    "a moment without a zone": ("bench.Reading", {"at": "2026-01-01T10:00:00"}, "time zone"),
    "a moment that is none": ("bench.Reading", {"at": "yesterday"}, "not accepted"),
    "a key that is none": ("bench.Reading", {"entry_key": "abc"}, "not accepted"),
    "a text with a nought in it": ("bench.Snag", {"words": "a\0b"}, "is not text"),
    "a column too many": ("bench.Reading", {"is_superuser": True}, "same columns"),
    "the same number twice": ("guides.Step", {"id": 0}, "no unique number"),
    "a key with a path in it": ("guides.Kit", {"name": "x" * 121}, "not accepted"),
    "a picture called like a page": ("guides.Picture", {"name": "x.html"}, "name for a picture"),
    "a photo that is another table's file": ("bench.Photo", {"full": "rows/guides.Kit.jsonl"}, "missing from"),
    "a photo from outside the file": ("bench.Photo", {"full": "../../etc/passwd"}, "missing from"),
    "an issued revision without a day": ("guides.Revision", {"issued_at": None}, "no date of issue"),
    "a snag merged into one of elsewhere": ("bench.Snag", {"merged_into": 10**9}, "not in the file"),
}


@pytest.mark.lengthy
@pytest.mark.parametrize("case", ROWS)
def test_a_kit_file_with_a_wrong_row_is_refused(case, content, owner, tmp_path):
    label, values, match = ROWS[case]
    made = changed(content, label, **values)
    if case == "the same number twice":
        made = changed(made, label, 1, id=0)
    refused(made, tmp_path / "a.zip", owner, match)


@pytest.mark.lengthy
def test_a_reading_of_another_guides_check_is_refused(content, owner, tmp_path):
    """Of a check that is in the file, but in a revision that its build is not built from."""
    build = rows(content, "bench.Build")[0]
    stages = {row["id"]: row["revision"] for row in rows(content, "guides.Stage")}
    other = next(row for row in rows(content, "guides.Check") if stages[row["stage"]] != build["revision"])
    made = changed(content, "bench.Reading", build=build["id"], check_row=other["id"])
    refused(made, tmp_path / "a.zip", owner, "not its build")


def test_two_readings_under_one_key_are_refused_and_nothing_stays(content, owner, tmp_path):
    first = rows(content, "bench.Reading")[0]["entry_key"]
    made = changed(content, "bench.Reading", 1, entry_key=first)
    refused(made, tmp_path / "a.zip", owner, "do not fit")


@pytest.mark.parametrize("line", [b'{"id": NaN}', b"[" * 100_000, b"1" * 5000, b"[1]", b"\xff\xfe", b'"a"', b"{"])
def test_a_line_that_is_no_row_is_refused(line, content, owner, tmp_path):
    made = content | {"rows/guides.Kit.jsonl": line + b"\n"}
    refused(made, tmp_path / "a.zip", owner, "guides.Kit")


@pytest.mark.parametrize("raw", [b"<script>alert(1)</script>", b"%PDF-1.7", b""])
def test_a_page_in_place_of_a_photo_is_refused(raw, content, owner, tmp_path):
    entry = rows(content, "bench.Photo")[0]["full"]
    refused(content | {entry: raw}, tmp_path / "a.zip", owner, "not a picture")


@pytest.mark.parametrize("name", ["../evil.jpg", "/etc/passwd", "files/../1.jpg", "files/1.html", "rows/x.jsonl", "a"])
def test_an_entry_with_another_name_is_refused(name, content, owner, tmp_path):
    refused(content | {name: b"x"}, tmp_path / "a.zip", owner, "never called")


@pytest.mark.parametrize("head", [{"format": 2}, {"schema": {}}, {"kit": 3}, {"designers": [[1]]}, {"counts": None}])
def test_a_head_of_another_version_is_refused(head, content, owner, tmp_path):
    made = content | {"kit.json": json.dumps(json.loads(content["kit.json"]) | head).encode()}
    refused(made, tmp_path / "a.zip", owner, "format|version|head")


def test_designers_who_are_not_in_the_file_are_refused(content, owner, tmp_path):
    made = content | {"kit.json": json.dumps(json.loads(content["kit.json"]) | {"designers": [[-5, "owner"]]}).encode()}
    refused(made, tmp_path / "a.zip", owner, "not among its people")


def test_a_changed_byte_is_noticed_before_anything_is_added(content, owner, tmp_path):
    pack(content, tmp_path / "good.zip")
    with zipfile.ZipFile(tmp_path / "good.zip") as archive:
        sums = archive.read(SUMS).decode()
    made = changed(content, "bench.Reading", typed="310")
    with pytest.raises(TransferError, match="damaged"):
        read_in(pack(made, tmp_path / "a.zip", sums=sums), owner)
    with pytest.raises(TransferError, match="does not match"):
        read_in(pack(content, tmp_path / "b.zip", sums=""), owner)
    assert not Kit.objects.exists()


def test_two_entries_of_one_name_are_refused(content, owner, tmp_path):
    path = pack(content, tmp_path / "a.zip")
    with pytest.warns(UserWarning), zipfile.ZipFile(path, "a") as archive:
        archive.writestr("kit.json", "{}")
    with pytest.raises(TransferError, match="two of one name"):
        Reader(path)


@pytest.mark.lengthy
def test_an_entry_that_unpacks_to_far_more_is_refused_unread(content, tmp_path):
    made = content | {"rows/bench.Tick.jsonl": b" " * 60_000_000}
    path = pack(made, tmp_path / "a.zip")
    assert path.stat().st_size < 2_000_000
    del made
    tracemalloc.start()
    try:
        with pytest.raises(TransferError, match="far more|too large"):
            Reader(path)
        assert tracemalloc.get_traced_memory()[1] < 20_000_000
    finally:
        tracemalloc.stop()


@pytest.mark.lengthy
def test_a_list_of_millions_of_entries_is_refused_unread(tmp_path):
    entry = struct.pack("<4s4B4HL2L5H2L", b"PK\x01\x02", 20, 0, 20, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0) + b"a"
    directory = entry * 1_500_000
    tail = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 65535, 65535, len(directory), 0, 0)
    (tmp_path / "a.zip").write_bytes(directory + tail)
    del directory
    tracemalloc.start()
    try:
        with pytest.raises(TransferError, match="too many"):
            Reader(tmp_path / "a.zip")
        assert tracemalloc.get_traced_memory()[1] < 5_000_000
    finally:
        tracemalloc.stop()


@pytest.mark.lengthy
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_whatever_is_cut_or_changed_is_refused_in_words(data, content, packed, tmp_path):
    raw = bytearray(packed)
    place = data.draw(st.integers(0, len(raw) - 1))
    raw[place] ^= data.draw(st.integers(1, 255))
    (tmp_path / "b.zip").write_bytes(raw[: data.draw(st.sampled_from([len(raw), place, len(raw) - 1]))])
    try:
        with Reader(tmp_path / "b.zip") as archive:
            for name in archive.entries:
                if name.endswith("jsonl"):
                    list(archive.lines(name))
    except TransferError:
        return
    with zipfile.ZipFile(io.BytesIO(bytes(raw))) as archive:  # a byte that says nothing, such as a date
        assert {name: archive.read(name) for name in archive.namelist() if name != SUMS} == content


@pytest.mark.lengthy
def test_a_guide_that_would_be_refused_as_an_upload_is_refused_here(content, owner, tmp_path):
    """The guide of the factories names points that no part has; taken over as it is, it is there."""
    with pytest.raises(TransferError, match="breaks a rule"):
        read_in(pack(content, tmp_path / "a.zip"), owner, as_it_is=False)
    assert not Kit.objects.exists()
    assert read_in(tmp_path / "a.zip", owner).revisions.count() == 3


def test_a_stop_that_was_made_a_pass_is_refused(content, owner, tmp_path):
    """Whoever would hide that a build was past its stop limit changes the reading's outcome and the check's with it."""
    readings = rows(content, "bench.Reading")
    stops = [n for n, row in enumerate(readings) if row["outcome"] == "switch off"]
    made = dict(content)
    if not stops:  # a good reading that is said to have been 5 kV
        readings[0] |= {"true_value": 5000.0, "value": 5000.0, "typed": "5000"}
    for number in stops:
        readings[number] |= {"outcome": "in band", "low": None, "high": None}
    put_rows(made, "bench.Reading", readings)
    statuses = rows(content, "bench.CheckStatus")
    for row in statuses:
        row |= {"outcome": "in band", "passed": True, "stop": None} if row["outcome"] == "switch off" else {}
    put_rows(made, "bench.CheckStatus", statuses)
    refused(made, tmp_path / "a.zip", owner, "stop limit|out of its band")


def test_a_check_that_stands_on_another_reading_is_refused(content, owner, tmp_path):
    statuses, readings = rows(content, "bench.CheckStatus"), rows(content, "bench.Reading")
    other = next(row for row in readings if row["check_row"] != statuses[0]["check_row"])
    refused(
        changed(content, "bench.CheckStatus", latest=other["id"]),
        tmp_path / "a.zip",
        owner,
        "another build|does not match the reading",
    )


def test_a_check_that_says_better_than_its_reading_is_refused(content, owner, tmp_path):
    statuses = rows(content, "bench.CheckStatus")
    said = "in band" if statuses[0]["outcome"] != "in band" else "out of band"
    refused(
        changed(content, "bench.CheckStatus", outcome=said), tmp_path / "a.zip", owner, "does not match the reading"
    )


def test_a_check_passed_by_nobody_is_refused(content, owner, tmp_path):
    made, statuses, readings = dict(content), rows(content, "bench.CheckStatus"), rows(content, "bench.Reading")
    statuses[0] |= {"passed": True, "outcome": "out of band"}
    next(row for row in readings if row["id"] == statuses[0]["latest"])["outcome"] = "out of band"
    put_rows(made, "bench.CheckStatus", statuses)
    put_rows(made, "bench.Reading", readings)
    put_rows(made, "bench.Concession", [])
    refused(made, tmp_path / "a.zip", owner, "good reading or a concession|stop has been cleared")
