"""Decoding uploads: one at a time in a process, before any transaction, within limits of size for each format."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from struct import error as StructError
from threading import BoundedSemaphore, Lock
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _
from pi_heif import register_heif_opener
from PIL import Image, ImageOps, UnidentifiedImageError

from builds.ui.errors import SiteError

register_heif_opener()
# Pixels a format may have, so that a process decoding the worst file holds 400 MB at most (tests/speed/photos.py).
MAX_PIXELS = {"JPEG": 50_000_000, "PNG": 40_000_000, "WEBP": 12_500_000, "HEIF": 16_000_000}
PROGRESSIVE_BYTES = 180_000_000  # a progressive JPEG is held whole as coefficients of two bytes before it is drawn
# What decoders raise on files that are damaged or made to break them.
UNREADABLE = (
    UnidentifiedImageError,
    Image.DecompressionBombError,
    OSError,
    ValueError,
    SyntaxError,
    ArithmeticError,
    LookupError,
    TypeError,
    EOFError,
    StructError,
)
SIZES = {"full": 2048, "print_copy": 800, "thumb": 400}
MOST_WAITING = 4  # posts with photos that a process works on or holds back; the others are asked to come again

_one_at_a_time = Lock()
_places = BoundedSemaphore(MOST_WAITING)


@dataclass(frozen=True)
class DecodedPhoto:
    """A photo written anew at three sizes."""

    copies: dict[str, bytes]
    width: int
    height: int


@contextmanager
def place_in_queue() -> Iterator[None]:
    """Hold one of the few places for posts with photos. Raises ChecksError when all are taken."""
    if not _places.acquire(blocking=False):
        raise _wrong(_("Several photos are being saved at this moment. Wait half a minute, then send yours again."))
    try:
        yield
    finally:
        _places.release()


def decode_photo(file) -> DecodedPhoto:
    """The upload, checked by decoding it. Raises ChecksError with what is wrong and what is accepted."""
    with _one_at_a_time:
        image = open_photo(file)
        try:
            image = ImageOps.exif_transpose(_reduced(image)).convert("RGB")  # reduced before turning: half the memory
        except UNREADABLE:
            raise _wrong(_unreadable(image)) from None
        copies = {name: _rewrite(image, side) for name, side in SIZES.items()}
    return DecodedPhoto(copies, image.width, image.height)


def open_photo(file) -> Image.Image:
    """Open an upload and check what its header says. Raises ChecksError."""
    if file.size > settings.PHOTO_MAX_BYTES:
        raise _wrong(
            _("This photo is larger than %(megabytes)s MB. Take it at a smaller size.")
            % {"megabytes": settings.PHOTO_MAX_BYTES // 2**20}
        )
    try:
        image = Image.open(file, formats=tuple(MAX_PIXELS))
    except Image.DecompressionBombError:  # told by its size before a pixel of it is decoded
        raise _too_many_pixels(50_000_000) from None
    except UNREADABLE:
        raise _wrong(_("This file cannot be read as a photo. Upload a JPEG, PNG, WebP or HEIC picture.")) from None
    most = _most_pixels(image)
    if image.width * image.height > most:
        raise _too_many_pixels(most)
    return image


def _most_pixels(image: Image.Image) -> int:
    most = MAX_PIXELS.get(image.format or "JPEG", MAX_PIXELS["JPEG"])  # several pictures in one JPEG call it "MPO"
    if image.info.get("progressive"):
        most = min(most, PROGRESSIVE_BYTES // (2 * len(image.getbands())))
    return most


def _reduced(image: Image.Image) -> Image.Image:
    """The photo at its largest size kept. One with transparency is reduced a band at a time: as a whole it would be
    held three times over."""
    side = SIZES["full"]
    image.draft("RGB", (side, side))  # a JPEG is drawn smaller from the start
    _let_go_of_decoder(image)
    if image.mode not in ("RGBA", "LA"):
        image.thumbnail((side, side))
        return image
    image.load()
    exif, bands = image.getexif(), []
    for name in "RGB" if image.mode == "RGBA" else "L":
        band = image.getchannel(name)
        band.thumbnail((side, side))
        bands.append(band)
    merged = Image.merge("RGB" if len(bands) == 3 else "L", bands)
    merged.info["exif"] = exif.tobytes()
    return merged


def _let_go_of_decoder(image: Any) -> None:
    """A WebP's decoder holds two canvases and the file; left alone it does so until the photo is stored. What it has
    drawn is copied into the picture, and it is let go before the picture takes memory of its own."""
    if image.format == "WEBP":
        take_memory = image.load_prepare

        def prepare() -> None:
            image._decoder = None
            take_memory()

        image.load_prepare = prepare


def _unreadable(image: Image.Image) -> str:
    """A HEIC picture may be whole and yet of a kind that the decoder cannot read, such as with full colour detail."""
    if image.format == "HEIF":
        return _("This HEIC photo cannot be read. Set the camera to JPEG and take it again, or convert it to JPEG.")
    return _("This photo is damaged. Take it again.")


def _wrong(message) -> SiteError:
    return SiteError(message, argument="photo")


def _too_many_pixels(most: int) -> SiteError:
    message = _("This photo has more than %(million)s million pixels. Take it at a smaller size.")
    return _wrong(message % {"million": most // 1_000_000})


def _rewrite(image: Image.Image, side: int) -> bytes:
    small = image.copy()
    small.info.clear()  # a comment or XMP would be written into the copy
    small.thumbnail((side, side))
    out = BytesIO()
    small.save(out, "JPEG", quality=80)
    return out.getvalue()
