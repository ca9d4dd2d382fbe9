"""Names inside an archive: safe on every system, and never outside the folder they are unpacked in."""

from django.utils.text import slugify


def safe(text: str, most: int = 40) -> str:
    """A name of letters, digits and hyphens."""
    return slugify(text)[:most].strip("-") or "unnamed"


def photo_name(photo, number: int) -> str:
    """photos/SERIAL/0007-stage-step.jpg; the number keeps names apart."""
    about = (
        photo.step.key if photo.step else photo.check_row.key if photo.check_row else "snag" if photo.snag_id else ""
    )
    tail = f"-{safe(about)}" if about else ""
    return f"photos/{safe(photo.build.serial)}/{number:04d}-{safe(photo.stage.key)}{tail}.jpg"
