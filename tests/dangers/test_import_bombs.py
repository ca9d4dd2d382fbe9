"""Guides made to fill the memory or to keep a processor busy are refused, soon and in words. The layout of a zip's end
is that of PKWARE's APPNOTE.TXT, 4.3.16."""

import io
import struct
import time
import tracemalloc
import zipfile
from random import Random

import pytest
from PIL import Image

from builds.guides.guide_file import GuideErrors, read_guide
from builds.guides.guide_file.unpack import unpack
from builds.guides.parts_import.code_pages import foreign_words
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.text_import import images
from builds.guides.text_import.documents import read_document
from builds.guides.text_import.stages import refs_in
from checks.errors import ChecksError
from checks.quantity import parse_quantity
from tests.builds.guides.test_circuit import GUIDE


def zipped(pictures: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("guide.toml", GUIDE)
        for name, content in pictures.items():
            archive.writestr(name, content)
    return out.getvalue()


def png(side: int) -> bytes:
    out = io.BytesIO()
    Image.new("1", (side, side)).save(out, "PNG")
    return out.getvalue()


def refused(raw: bytes) -> int:
    """The most memory that refusing it took, in bytes."""
    tracemalloc.start()
    try:
        with pytest.raises(GuideErrors):
            read_guide(raw)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.mark.lengthy
def test_a_zip_of_huge_pictures_is_refused_without_decoding_them():
    raw = zipped({f"p{n}.png": png(4800) for n in range(20)})
    assert len(raw) < 200_000
    assert refused(raw) < 50_000_000


def stating(size: int, raw: bytes) -> bytes:
    """The zip, in which the last file's size is stated otherwise (PKWARE's APPNOTE, 4.3.7 and 4.3.12)."""
    changed, packed = bytearray(raw), raw.rfind(b"PK\x03\x04")
    struct.pack_into("<L", changed, packed + 22, size)
    struct.pack_into("<L", changed, raw.rfind(b"PK\x01\x02") + 24, size)
    return bytes(changed)


@pytest.mark.lengthy
def test_a_file_that_holds_far_more_than_the_zip_states_is_unpacked_no_further():
    raw = stating(1000, zipped({"a.png": bytes(80_000_000)}))
    assert len(raw) < 200_000
    assert refused(raw) < 5_000_000


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA], ids=["bzip2", "lzma"])
def test_a_file_packed_in_a_way_that_is_unpacked_as_a_whole_is_refused(method):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        archive.writestr("guide.toml", GUIDE)
    assert refused(out.getvalue()) < 5_000_000


def test_zips_within_a_zip_are_never_opened():
    inner = zipped({})
    for _n in range(5):
        inner = zipped({"more.zip": inner})
    assert refused(inner) < 5_000_000


@pytest.mark.lengthy
def test_a_zip_with_bytes_changed_anywhere_is_read_or_refused_in_words():
    raw, random, refusals = zipped({"a.png": png(20)}), Random(5), 0
    for _n in range(3000):
        changed = bytearray(raw)
        for _m in range(random.randint(1, 6)):
            changed[random.randrange(len(raw)) if random.random() < 0.3 else -1 - random.randrange(220)] = (
                random.choice((0, 255, random.randrange(256)))
            )
        try:
            unpack(bytes(changed))
        except GuideErrors:
            refusals += 1
    assert refusals > 1000


def test_a_zip_of_400_000_files_is_refused_without_listing_them():
    entry = struct.pack("<4s4B4HL2L5H2L", b"PK\x01\x02", 20, 0, 20, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0) + b"a"
    directory = entry * 400_000
    raw = directory + struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 65535, 65535, len(directory), 0, 0)
    assert refused(raw) < 5 * len(raw)


@pytest.mark.parametrize(
    "line",
    [
        ".".join(["a"] * 200_000) + " = 1",
        "[" + ".".join(["a"] * 200_000) + "]",
        "x = {" + "a." * 200_000 + "a = 1}",
        ".".join(['"a"'] * 100_000) + " = 1",
        "[" + " . ".join(["'a'"] * 100_000) + "]",
        "x = {y = 'it', z.\"it's\"." + ".".join(['"a"', "b"] * 50_000) + " = 1}",
    ],
    ids=["key", "table", "inline", "quoted key", "quoted table", "quoted inline"],
)
def test_names_of_thousands_of_parts_are_refused_with_their_line(line):
    with pytest.raises(GuideErrors) as found:
        read_guide(f"format = 1\n{line}\n".encode())
    assert found.value.problems[0].line == 2


def test_a_name_of_thousands_of_parts_is_found_after_a_text_of_several_lines():
    text = 'format = 1\nx = {y = """\n\' a ""b\\"""", ' + ".".join(['"a"'] * 100_000) + " = 1}\n"
    with pytest.raises(GuideErrors) as found:
        read_guide(text.encode())
    assert found.value.problems[0].line == 3


DOTS = ".a" * 40


@pytest.mark.parametrize(
    "words",
    [
        f'"First power{DOTS}"',
        f"'First power \"{DOTS}'",
        f'"""First\n \\"""\nx{DOTS}"""',
        f'"First" # x{DOTS}',
    ],
    ids=["text", "literal", "several lines", "comment"],
)
def test_dots_in_a_text_are_no_bomb(words):
    text = GUIDE.replace('title = "First power"', f"title = {words}")
    assert text != GUIDE and read_guide(text.encode())["stage"]


def test_of_a_file_of_wrong_names_the_first_hundred_are_reported():
    with pytest.raises(GuideErrors) as found:
        read_guide(b"format = 1\n" + b"".join(b"k%d = 1\n" % n for n in range(3000)))
    assert len(found.value.problems) == 100


def test_a_file_of_millions_of_lines_is_refused_unread():
    assert refused(b"\n" * 2_900_000) < 30_000_000


def test_one_huge_picture_shown_thousands_of_times_is_decoded_once(monkeypatch):
    raw, decoded = png(2000), []
    monkeypatch.setattr(images, "_rewritten", lambda content: decoded.append(content) or (content, "png"))
    pictures = images.Pictures()
    assert len({pictures.add(raw) for _n in range(5_000)}) == 1
    assert len(decoded) == 1


def test_pictures_beyond_what_is_decoded_in_seconds_are_left_out(monkeypatch):
    monkeypatch.setattr(images, "MAX_ALL_PIXELS", 90_000)
    pictures = images.Pictures()
    names = [pictures.add(png(200 + n)) for n in range(4)]
    assert [bool(name) for name in names] == [True, True, False, False]
    assert pictures.left_out == ["3", "4"]


@pytest.mark.parametrize("line", ["# a\n", "a\r", "a\t" * 300 + "\n", "|a" * 300 + "|\n"])
def test_a_text_of_more_lines_or_cells_than_can_be_read_in_seconds_is_refused(line):
    with pytest.raises(UnreadableFile):
        read_document((line * (1_900_000 // len(line))).encode())


@pytest.mark.parametrize("mark", [*"*_[`<&\\", "![", "[a]("])
def test_a_text_of_more_marks_than_can_be_read_in_seconds_is_refused(mark):
    with pytest.raises(UnreadableFile, match="marks"):
        read_document((mark * (1_900_000 // len(mark)) + "a").encode())


def test_a_step_that_names_a_range_thousands_of_times_is_looked_through_once():
    """A hundred million million references, one by one, would be days."""
    refs = [f"R{n}" for n in range(1, 60)]
    assert refs_in("R1-R999, " * 200_000, refs) == refs
    assert refs_in("R3-R5, " * 200_000, refs) == ["R3", "R4", "R5"]


@pytest.mark.parametrize(
    "typed", ["1" + " " * 5000 + "!", "-" + "\t" * 5000 + "1x", "OL" + " " * 5000 + "!", "1k" + "\u2003" * 5000 + "V V"]
)
def test_thousands_of_blanks_in_a_value_are_refused_at_once(typed):
    """Blanks that could stand in five places of a pattern would be tried in every order: hours for a few hundred."""
    began = time.process_time()
    with pytest.raises(ChecksError):
        parse_quantity(typed, "V")
    assert time.process_time() - began < 2  # not a speed: a hundred times what it takes, and a millionth of before


def test_a_long_text_without_a_blank_is_looked_through_once_for_its_foreign_words():
    """Once from each of its letters would be a million million steps."""
    began = time.process_time()
    assert foreign_words("a" * 1_000_000 + " Gehäuse " + "b" * 1_000_000) == ["Gehäuse"]
    assert time.process_time() - began < 2
