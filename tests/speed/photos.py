"""Prints the memory and the time that decoding the largest photo of each format takes, in a process of its own."""

import subprocess
import sys
import time
from io import BytesIO
from pathlib import Path

FORMATS = {
    "JPEG": {"quality": 90},
    "JPEG progressive 4:4:4": {"quality": 90, "progressive": True, "subsampling": 0},
    "PNG": {"compress_level": 1},
    "PNG with alpha": {"compress_level": 1},
    "WEBP": {"quality": 70, "method": 0},
    "WEBP with alpha": {"quality": 70, "method": 0},
    "HEIF": {},
}


def draw(kind: str) -> bytes:
    """An image of nearly as many pixels as the format may have."""
    from PIL import Image

    from builds.bench.photos.decoding import MAX_PIXELS, PROGRESSIVE_BYTES

    name = kind.split()[0]
    most = min(MAX_PIXELS[name], PROGRESSIVE_BYTES // 6) if "progressive" in kind else MAX_PIXELS[name]
    side = int(most**0.5)
    mode = "RGBA" if "alpha" in kind else "RGB"
    image = Image.merge(mode, [Image.linear_gradient("L").resize((side, side))] * len(mode))
    out = BytesIO()
    if name == "HEIF":
        import pillow_heif  # writes HEIC; used where it is installed

        pillow_heif.from_pillow(image).save(out, quality=50)
    else:
        image.save(out, name, **FORMATS[kind])
    return out.getvalue()


def decode(path: str) -> None:
    import os

    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
    django.setup()
    from django.core.files.uploadedfile import SimpleUploadedFile

    from builds.bench.photos.decoding import decode_photo

    raw = Path(path).read_bytes()
    before, began = _most(), time.perf_counter()
    decode_photo(SimpleUploadedFile("p", raw))
    print(f"{before} MB before, {_most()} MB at most, {time.perf_counter() - began:.1f} s")


def _most() -> int:
    """The most memory this process has held, in MB."""
    line = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM"))
    return int(line.split()[1]) // 1024


def main() -> None:
    import tempfile

    for kind in FORMATS:
        with tempfile.NamedTemporaryFile() as kept:
            try:
                kept.write(draw(kind))
            except ImportError as error:
                print(f"{kind}: not measured ({error})")
                continue
            kept.flush()
            print(f"{kind}, {kept.tell() / 2**20:.1f} MB: ", end="", flush=True)
            subprocess.run([sys.executable, "-m", "tests.speed.photos", kept.name], check=True)


if __name__ == "__main__":
    decode(sys.argv[1]) if len(sys.argv) > 1 else main()
