"""A picture as it is shown: turned, cropped, and its marks drawn on it."""

import io
import math

from django.conf import settings
from PIL import Image, ImageDraw, ImageFont, ImageOps

from builds.guides.pictures.geometry import Frame

INK, PAPER = (190, 30, 15, 255), (255, 255, 255, 255)
RING = 0.05  # of the width: a ring's radius where none is given
FINE, MIDDLING = 1200, 2400  # pixels of the longer side, below which marks are drawn larger and shrunk


def shown_picture(raw: bytes, row: dict, *, with_marks: bool = True) -> tuple[bytes, int, int]:
    """(file, width, height) of an uploaded picture shown as `row` (turn, crop, mark) says."""
    with Image.open(io.BytesIO(raw), formats=("PNG", "JPEG")) as image:
        kind = image.format
        made = _framed(ImageOps.exif_transpose(image), Frame.of(row))
    if with_marks and row.get("mark"):
        made = _marked(made, row["mark"])
    out = io.BytesIO()
    if kind == "JPEG":
        made.convert("RGB").save(out, "JPEG", quality=90)
    else:
        made.save(out, "PNG")
    return out.getvalue(), *made.size


def find_size(raw: bytes) -> tuple[int, int]:
    """Width and height as a browser shows the file: a camera's note of how it was held is followed."""
    with Image.open(io.BytesIO(raw), formats=("PNG", "JPEG")) as image:
        lies = image.getexif().get(0x0112, 1) in (5, 6, 7, 8)
        return (image.height, image.width) if lies else image.size


def _framed(image: Image.Image, frame: Frame) -> Image.Image:
    if frame.turn:
        image = image.rotate(-frame.turn, expand=True)
    left, top, right, bottom = frame.crop
    box = (
        round(left * image.width),
        round(top * image.height),
        round(right * image.width),
        round(bottom * image.height),
    )
    return image if frame.is_whole else image.crop(box)


def _marked(image: Image.Image, marks: list[dict]) -> Image.Image:
    """Marks are drawn on a sheet of their own, larger where the picture is small, so that their edges are smooth."""
    longest = max(image.size)
    times = 3 if longest < FINE else 2 if longest < MIDDLING else 1
    sheet = Image.new("RGBA", (image.width * times, image.height * times), (*INK[:3], 0))
    pen = _Pen(sheet)
    for mark in marks:
        getattr(pen, mark["what"])(mark)
    sheet = sheet.resize(image.size, Image.Resampling.LANCZOS) if times > 1 else sheet
    base = image.convert("RGBA")
    base.alpha_composite(sheet)
    return base


class _Pen:
    """Draws each kind of mark: dark red on a white edge, so that it stands out on any picture and on grey paper."""

    def __init__(self, sheet: Image.Image):
        self.draw, (self.wide, self.tall) = ImageDraw.Draw(sheet), sheet.size
        self.line = max(2.0, math.hypot(*sheet.size) / 220)
        self.edge = self.line / 2
        self.font = ImageFont.truetype(settings.BASE_DIR / "static/fonts/DejaVuSans-Bold.ttf", round(self.line * 5))

    def _at(self, place) -> tuple[float, float]:
        return place[0] * self.wide, place[1] * self.tall

    def arrow(self, mark: dict) -> None:
        start, tip = self._at(mark["at"]), self._at(mark["to"])
        length = math.dist(start, tip) or 1.0
        along = ((tip[0] - start[0]) / length, (tip[1] - start[1]) / length)
        head = min(self.line * 5, length * 0.6)
        for colour, grown in ((PAPER, self.edge), (INK, 0.0)):
            self._arrow(start, tip, along, head, colour, grown)

    def _arrow(self, start, tip, along, head: float, colour, grown: float) -> None:
        neck = (tip[0] - along[0] * head * 0.9, tip[1] - along[1] * head * 0.9)
        self.draw.line([start, neck], fill=colour, width=round(self.line + 2 * grown))
        ahead, back = grown * 1.8, head + grown
        side = head * 0.5 + grown * 1.4
        across = (-along[1], along[0])
        foot = (tip[0] - along[0] * back, tip[1] - along[1] * back)
        self.draw.polygon(
            [
                (tip[0] + along[0] * ahead, tip[1] + along[1] * ahead),
                (foot[0] + across[0] * side, foot[1] + across[1] * side),
                (foot[0] - across[0] * side, foot[1] - across[1] * side),
            ],
            fill=colour,
        )

    def ring(self, mark: dict) -> None:
        radius = mark.get("size", RING) * self.wide
        for colour, grown in ((PAPER, self.edge), (INK, 0.0)):
            self._circle(self._at(mark["at"]), radius + grown, outline=colour, width=round(self.line + 2 * grown))

    def number(self, mark: dict) -> None:
        at, text = self._at(mark["at"]), mark["text"]
        radius = max(self.line * 4, self.draw.textlength(text, self.font) / 2 + self.line * 1.5)
        self._circle(at, radius + self.edge, fill=PAPER)
        self._circle(at, radius, fill=INK)
        self.draw.text(at, text, PAPER, self.font, anchor="mm")

    def words(self, mark: dict) -> None:
        """On a plate that begins at their place, moved in where it would run off the picture."""
        pad, text = self.line * 1.5, mark["text"]
        wide, tall = self.draw.textlength(text, self.font) + 2 * pad, self.line * 5 + 2 * pad
        x, y = self._at(mark["at"])
        x, y = max(0.0, min(x, self.wide - wide)), max(0.0, min(y - tall / 2, self.tall - tall))
        self.draw.rounded_rectangle(
            [x, y, x + wide, y + tall], self.line * 1.5, fill=PAPER, outline=INK, width=round(self.line / 2)
        )
        self.draw.text((x + pad, y + tall / 2), text, INK, self.font, anchor="lm")

    def _circle(self, at, radius: float, **look) -> None:
        self.draw.ellipse([at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius], **look)
