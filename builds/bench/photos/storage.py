"""Photos: checked by decoding, written anew at three sizes, without what the phone said of place and time."""

from hashlib import sha256
from io import BytesIO
from struct import error as StructError
from uuid import UUID, uuid4, uuid5

from django.conf import settings
from django.core.files.base import ContentFile
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from pi_heif import register_heif_opener
from PIL import Image, ImageOps, UnidentifiedImageError

from builds.bench.models import Photo
from checks.errors import ChecksError

register_heif_opener()
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
MAX_PIXELS = 50_000_000
TOO_MANY_PIXELS = _("This photo has more than 50 million pixels. Take it at a smaller size.")
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


def _wrong(words) -> ChecksError:
    return ChecksError(words, argument="photo")


def open_photo(file) -> Image.Image:
    """Open and check an upload. Raises ChecksError with what is wrong and what is accepted."""
    if file.size > settings.PHOTO_MAX_BYTES:
        raise _wrong(
            _("This photo is larger than %(megabytes)s MB. Take it at a smaller size.")
            % {"megabytes": settings.PHOTO_MAX_BYTES // 2**20}
        )
    try:
        image = Image.open(file, formats=FORMATS)
    except Image.DecompressionBombError:  # told by its size before a pixel of it is decoded
        raise _wrong(TOO_MANY_PIXELS) from None
    except UNREADABLE:
        raise _wrong(_("This file cannot be read as a photo. Upload a JPEG, PNG, WebP or HEIC picture.")) from None
    if image.width * image.height > MAX_PIXELS:
        raise _wrong(TOO_MANY_PIXELS)
    return image


def _rewrite(image: Image.Image, side: int) -> bytes:
    small = image.copy()
    small.info.clear()  # a comment or XMP would be written into the copy
    small.thumbnail((side, side))
    out = BytesIO()
    small.save(out, "JPEG", quality=80)
    return out.getvalue()


def save_photos(files, *, entry_key, **place) -> list[str]:
    """Keep the photos of one post; says, a sentence for each, which were refused. A retry of the post adds none
    twice. A browser cannot be handed a file back, so nothing is asked again: another photo, or another place, under the
    key of a page that was used before is kept for itself."""
    refused = []
    for file in files:
        try:
            save_photo(file, entry_key=_key_of(file, entry_key, place), **place)
        except ChecksError as error:
            refused.append(f"{file.name}: {error}" if len(files) > 1 else str(error))
    return refused


def _key_of(file, entry_key: UUID, place: dict) -> UUID:
    """One for each photo at each place in one post."""
    where = ";".join(f"{name}={getattr(row, 'pk', row)}" for name, row in sorted(place.items()))
    digest = sha256()
    for chunk in file.chunks():
        digest.update(chunk)
    file.seek(0)
    return uuid5(entry_key, f"{where};{digest.hexdigest()}")


def save_photo(file, *, build, stage, step=None, check_row=None, snag=None, by=None, entry_key=None, at=None) -> Photo:
    """Keep a photo; the same entry key gives back the photo it made the first time. Raises ChecksError."""
    entry_key = entry_key or uuid4()
    already = Photo.objects.filter(entry_key=entry_key, build=build).first()
    if already:
        return already
    image = open_photo(file)
    try:
        image.thumbnail((SIZES["full"], SIZES["full"]))  # before turning it: half the memory
        image = ImageOps.exif_transpose(image).convert("RGB")
    except UNREADABLE:
        raise _wrong(_("This photo is damaged. Take it again.")) from None
    photo = Photo(
        build=build,
        stage=stage,
        step=step,
        check_row=check_row,
        snag=snag,
        by=by,
        entry_key=entry_key,
        width=image.width,
        height=image.height,
        at=at or timezone.now(),
    )
    for name, side in SIZES.items():
        getattr(photo, name).save(f"{entry_key}-{name}.jpg", ContentFile(_rewrite(image, side)), save=False)
    photo.save()
    return photo
