"""What is kept of a photo: the picture and nothing the camera wrote beside it."""

import io
import struct
import zlib
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageFile
from PIL.PngImagePlugin import PngInfo

from builds.bench.models import Photo
from builds.bench.photos.storage import save_photo
from checks.errors import ChecksError
from tests import factories

pytestmark = pytest.mark.django_db
SECRET = b"Made by Phone 7 at 51.5 N"


def exif() -> bytes:
    made = Image.Exif()
    made[0x0110] = SECRET.decode()  # the camera's model
    made[0x0112] = 6  # lies on its side
    made[0x8825] = {1: "N", 2: (51.0, 30.0, 0.0)}
    return made.tobytes()


def segment(mark: int, data: bytes) -> bytes:
    return bytes((0xFF, mark)) + struct.pack(">H", len(data) + 2) + data


def jpeg() -> bytes:
    """A JPEG with a comment, XMP and IPTC besides its Exif (the segments of ITU-T T.81, annex B)."""
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "red").save(out, "JPEG", exif=exif())
    extra = segment(0xFE, SECRET) + segment(0xE1, b"http://ns.adobe.com/xap/1.0/\0" + SECRET)
    extra += segment(0xED, b"Photoshop 3.0\0" + SECRET)
    return out.getvalue()[:2] + extra + out.getvalue()[2:]


def png() -> bytes:
    words, out = PngInfo(), io.BytesIO()
    words.add_text("comment", SECRET.decode())
    words.add_itxt("XML:com.adobe.xmp", SECRET.decode())
    Image.new("RGB", (60, 40), "red").save(out, "PNG", pnginfo=words, exif=exif())
    return out.getvalue()


def webp() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "red").save(out, "WEBP", exif=exif(), xmp=SECRET)
    return out.getvalue()


@pytest.fixture
def place():
    revision = factories.make_revision(checks=1, steps=1)
    return {"build": factories.make_build(revision=revision), "stage": revision.stages.first()}


def sent(raw: bytes, name: str = "photo.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, raw)


@pytest.mark.parametrize("make", [jpeg, png, webp], ids=lambda make: make.__name__)
def test_comments_place_and_camera_are_gone_from_every_copy_and_the_picture_stands_upright(place, make):
    assert SECRET in make()
    kept = save_photo(sent(make()), **place)
    for file in (kept.full, kept.print_copy, kept.thumb):
        raw = file.open("rb").read()
        image = Image.open(io.BytesIO(raw))
        assert SECRET not in raw and not image.getexif() and not image.info.get("comment")
        assert image.size == (40, 60)


def test_a_picture_that_would_unpack_to_gigabytes_is_refused_before_it_is_decoded(place):
    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", 60000, 60000, 8, 2, 0, 0, 0)
    bomb = (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )
    with pytest.raises(ChecksError, match="50 million pixels"):
        save_photo(sent(bomb, "bomb.png"), **place)
    assert not Photo.objects.exists()


@pytest.mark.parametrize(
    "raw",
    [b"", b"\xff\xd8\xff\xe0", b"<svg/>", b"GIF89a" + b"\0" * 20, jpeg()[:500]],
    ids=["empty", "head only", "drawing", "gif", "cut short"],
)
def test_what_is_no_whole_photo_is_refused_with_what_is_accepted(place, raw):
    with pytest.raises(ChecksError, match="JPEG, PNG, WebP or HEIC|damaged"):
        save_photo(sent(raw), entry_key=uuid4(), **place)


def test_a_photo_with_transparency_is_turned_as_the_camera_was_held(place):
    out = io.BytesIO()
    Image.new("RGBA", (60, 40), "red").save(out, "PNG", exif=exif())
    kept = save_photo(sent(out.getvalue()), **place)
    assert (kept.width, kept.height) == (40, 60)


def test_a_format_is_held_to_the_pixels_that_its_decoder_has_memory_for(place, monkeypatch):
    from builds.bench.photos import decoding

    monkeypatch.setitem(decoding.MAX_PIXELS, "WEBP", 60 * 40 - 1)
    with pytest.raises(ChecksError):
        save_photo(sent(webp()), **place)
    save_photo(sent(png()), **place)


@pytest.mark.parametrize("more", [[], [Image.new("RGB", (60, 40), "blue")]], ids=["still", "animated"])
def test_the_canvases_of_a_webp_are_given_back_before_the_picture_takes_memory(place, monkeypatch, more):
    """Both at once are more than the limit of a process; what is drawn is the first picture all the same."""
    held, take_memory = [], ImageFile.ImageFile.load_prepare
    monkeypatch.setattr(
        ImageFile.ImageFile,
        "load_prepare",
        lambda image: held.append(getattr(image, "_decoder", None)) or take_memory(image),
    )
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "red").save(out, "WEBP", lossless=True, save_all=True, append_images=more)
    kept = save_photo(sent(out.getvalue()), **place)
    assert held[0] is None and len(held) >= 1
    red, green, blue = Image.open(kept.full).getpixel((30, 20))
    assert red > 240 and green < 15 and blue < 15


def test_a_progressive_jpeg_is_held_to_less(place, monkeypatch):
    from builds.bench.photos import decoding

    monkeypatch.setattr(decoding, "PROGRESSIVE_BYTES", 60 * 40 * 2)
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "red").save(out, "JPEG", progressive=True)
    with pytest.raises(ChecksError):
        save_photo(sent(out.getvalue()), **place)
    save_photo(sent(jpeg()), **place)


def test_a_jpeg_that_holds_several_pictures_is_taken_as_its_first(place):
    """What some phones write: the multi-picture format of CIPA DC-007, a JPEG with more of them behind it."""
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "red").save(
        out, "MPO", save_all=True, append_images=[Image.new("RGB", (9, 9))], exif=exif()
    )
    assert Image.open(io.BytesIO(out.getvalue())).format == "MPO"
    kept = save_photo(sent(out.getvalue()), **place)
    assert (kept.width, kept.height) == (40, 60)


def heic(width: int, height: int) -> bytes:
    """A HEIC picture that states another size than is in it (`ispe` of ISO/IEC 23008-12, 6.5.3)."""
    raw = (Path(__file__).parent / "heic.heic").read_bytes()
    at = raw.index(b"ispe") + 8
    return raw[:at] + struct.pack(">II", width, height) + raw[at + 8 :]


def huge_webp() -> bytes:
    out = io.BytesIO()
    Image.new("1", (4000, 3600)).convert("RGB").save(out, "WEBP", method=0)
    return out.getvalue()


@pytest.mark.parametrize(
    "raw", [heic(60_000, 60_000), heic(8_000, 4_000), huge_webp()], ids=["immense HEIC", "large HEIC", "WebP"]
)
def test_a_small_file_of_a_huge_picture_is_refused_by_what_its_head_says(place, raw, monkeypatch):
    assert len(raw) < 100_000
    monkeypatch.setattr("builds.bench.photos.decoding._reduced", lambda image: pytest.fail("it was decoded"))
    with pytest.raises(ChecksError):
        save_photo(sent(raw), **place)
