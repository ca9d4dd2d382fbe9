"""Pictures of a guide for print: by path, no larger than paper shows, so that memory stays small."""

import io
from pathlib import Path

from PIL import Image, ImageOps

from builds.guides.pictures.draw import find_size
from builds.guides.pictures.translated import choose_image

LONGEST, ENOUGH = 1100, 800  # pixels; 800 over 110 mm are 185 dots an inch
AS_IS = 600_000  # bytes of a JPEG that goes in as it is


def print_copies(pictures: dict, folder: Path) -> dict[str, tuple[Path, int, int]]:
    """{name: (file, width, height)}; a picture whose file is gone is left out."""
    copies = {}
    for number, (name, picture) in enumerate(pictures.items()):
        try:
            with choose_image(picture).open("rb") as file:
                raw = file.read()
            copies[name] = _copy(raw, folder / f"{number}.jpg")
        except OSError:
            continue
    return copies


def _copy(raw: bytes, path: Path) -> tuple[Path, int, int]:
    with Image.open(io.BytesIO(raw), formats=("PNG", "JPEG")) as image:
        size = find_size(raw)
        upright = image.getexif().get(0x0112, 1) == 1
        if upright and image.format == "JPEG" and image.mode == "RGB" and len(raw) <= AS_IS and max(size) <= LONGEST:
            path.write_bytes(raw)
            return path, *size
        shrink = max((n for n in (1, 2, 4, 8) if max(size) / n >= ENOUGH), default=1)
        image.draft("RGB", (size[0] // shrink, size[1] // shrink))  # a JPEG is decoded small at once
        image.thumbnail((LONGEST, LONGEST))
        image = image if upright else ImageOps.exif_transpose(image)
        if "A" in image.getbands() or image.mode == "P":
            paper = Image.new("RGB", image.size, "white")
            clear = image.convert("RGBA")
            paper.paste(clear, mask=clear.getchannel("A"))
            image = paper
        image.convert("RGB").save(path, "JPEG", quality=80)
        return path, *image.size
