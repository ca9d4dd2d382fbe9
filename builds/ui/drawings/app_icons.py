"""Draws the icons of the installed site: a moving-coil meter, as icon.svg has it.

Run `python -m builds.ui.drawings.app_icons` after a change, and commit what it writes.
"""

from pathlib import Path

from PIL import Image, ImageDraw

PLATE, FACE = "#9a4a06", "#fffaf0"
HERE = Path(__file__).resolve().parents[3] / "static" / "icons"
FINE = 4  # drawn so many times larger, then made smaller: smooth edges


def draw(size: int, scale: float, corner: float) -> Image.Image:
    """`scale`: how much of the plate the meter takes; a mask leaves a circle of 40 % radius (W3C manifest)."""
    side = size * FINE
    image = Image.new("RGBA", (side, side), (0, 0, 0, 0))
    pen = ImageDraw.Draw(image)
    pen.rounded_rectangle((0, 0, side - 1, side - 1), corner * side, fill=PLATE)
    unit = side * scale / 32
    x0, y0 = side / 2, side / 2 + 4.5 * unit
    width = round(2.5 * unit)
    arc = 10 * unit
    pen.arc((x0 - arc, y0 - arc, x0 + arc, y0 + arc), 180, 360, fill=FACE, width=width)
    tip = (x0 + 6 * unit, y0 - 9 * unit)
    pen.line((x0, y0, *tip), fill=FACE, width=width)
    for x, y in ((x0, y0), tip, (x0 - arc + width / 2, y0), (x0 + arc - width / 2, y0)):
        pen.ellipse((x - width / 2, y - width / 2, x + width / 2, y + width / 2), fill=FACE)
    return image.resize((size, size), Image.Resampling.LANCZOS)


if __name__ == "__main__":
    for name, size, scale, corner in (
        ("icon-192", 192, 1.0, 6 / 32),
        ("icon-512", 512, 1.0, 6 / 32),
        ("maskable-512", 512, 0.9, 0),
        ("touch-180", 180, 0.9, 0),
    ):
        draw(size, scale, corner).quantize(64).save(HERE / f"{name}.png", optimize=True)
