"""Pictures of a document made fit for a guide: decoded, turned upright, and written anew as JPEG or PNG."""

import hashlib
import io

from PIL import Image, ImageOps

MOST, MAX_BYTES, MAX_PIXELS, LONGEST = 120, 20_000_000, 50_000_000, 2048
MAX_ALL_PIXELS = 1_000_000_000  # of one document: some ten seconds of decoding
FORMATS = ("PNG", "JPEG", "GIF", "BMP", "TIFF", "WEBP")


class Pictures:
    """Names pictures as they come; the same picture twice keeps its name."""

    def __init__(self):
        self.kept: dict[str, bytes] = {}
        self.left_out: list[str] = []
        self._names: dict[bytes, str] = {}  # of what came before, so that nothing is decoded twice
        self._pixels_left = MAX_ALL_PIXELS

    def add(self, raw: bytes) -> str:
        """Its name in the guide, or "" for what is no picture that a browser shows."""
        digest = hashlib.sha256(raw).digest()
        if digest not in self._names:
            self._names[digest] = self._added(raw)
        return self._names[digest]

    def _added(self, raw: bytes) -> str:
        number = len(self.kept) + len(self.left_out) + 1
        made = _rewritten(raw) if len(self.kept) < MOST and self._affords(raw) else None
        if made is None:
            self.left_out.append(str(number))
            return ""
        content, ending = made
        for name, other in self.kept.items():
            if other == content:
                return name
        name = f"text-{number}.{ending}"
        self.kept[name] = content
        return name

    def _affords(self, raw: bytes) -> bool:
        """Are there pixels left for it? Told by the picture's head, before it is decoded."""
        try:
            with Image.open(io.BytesIO(raw), formats=FORMATS) as image:
                self._pixels_left -= image.width * image.height
        except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
            return False
        return self._pixels_left >= 0


def _rewritten(raw: bytes) -> tuple[bytes, str] | None:
    if len(raw) > MAX_BYTES:
        return None
    try:
        with Image.open(io.BytesIO(raw), formats=FORMATS) as image:
            if image.width * image.height > MAX_PIXELS or min(image.size) < 8:
                return None
            drawn = image.format == "PNG" and (image.mode == "P" or max(image.size) <= LONGEST)
            image.thumbnail((LONGEST, LONGEST))
            upright = ImageOps.exif_transpose(image)
            out = io.BytesIO()
            if drawn:
                upright.convert("RGBA" if "A" in upright.getbands() else "RGB").save(out, "PNG", optimize=False)
                return out.getvalue(), "png"
            upright.convert("RGB").save(out, "JPEG", quality=82)
            return out.getvalue(), "jpg"
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
