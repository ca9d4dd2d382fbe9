"""A stand-in for a photo: drawn here, since the demo's builders are invented."""

from io import BytesIO

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw


def draw_photo(name: str, serial: str, label: str) -> SimpleUploadedFile:
    image = Image.new("RGB", (640, 480), "#d8cbb0")
    draw = ImageDraw.Draw(image)
    for k in range(6):
        draw.rounded_rectangle((60 + 90 * k, 180, 120 + 90 * k, 300), 8, outline="#3b3226", width=4, fill="#b98a4a")
    draw.text((20, 20), f"{serial}: {label}", fill="#1f1a14", font_size=22)
    draw.text((20, 440), "demo picture", fill="#5a5044", font_size=18)
    out = BytesIO()
    image.save(out, "JPEG", quality=70)
    return SimpleUploadedFile(name, out.getvalue())
