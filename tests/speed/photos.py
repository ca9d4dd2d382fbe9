"""Prints the memory and the time that decoding the largest photo of each format takes, in a process of its own. Then
the memory of one process whose eight threads decode all of them twice over, as a web process does that serves for long;
`as-it-comes` leaves out what the web server tells the C library, for comparison."""

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
    _set_up()
    from django.core.files.uploadedfile import SimpleUploadedFile

    from builds.bench.photos.decoding import decode_photo

    raw = Path(path).read_bytes()
    before, began = _most(), time.perf_counter()
    decode_photo(SimpleUploadedFile("p", raw))
    print(f"{before} MB before, {_most()} MB at most, {time.perf_counter() - began:.1f} s")


def serve_for_long(folder: str, told: bool) -> None:
    """Decode every photo in the folder in each of eight threads in turn; the web server's program is loaded, too."""
    _set_up()
    from concurrent.futures import ThreadPoolExecutor

    from django.core.files.uploadedfile import SimpleUploadedFile

    import builds.wsgi  # noqa: F401
    from builds.bench.photos.decoding import decode_photo
    from builds.operations.memory import give_back_freed_memory

    if told:
        give_back_freed_memory()
    photos = [path.read_bytes() for path in sorted(Path(folder).iterdir())]
    before, began = _most(), time.perf_counter()
    with ThreadPoolExecutor(8) as threads:
        list(threads.map(lambda raw: decode_photo(SimpleUploadedFile("p", raw)) and None, photos * 2))
    how = "told" if told else "as it comes"
    print(
        f"eight threads, {2 * len(photos)} photos, {how}: {before} MB before, {_most()} MB at most, "
        f"{_most('VmRSS')} MB afterwards, {time.perf_counter() - began:.1f} s"
    )


def _set_up() -> None:
    import os

    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
    django.setup()


def _most(name: str = "VmHWM") -> int:
    """The most memory this process has held, in MB."""
    line = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith(name))
    return int(line.split()[1]) // 1024


def main() -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        for kind in FORMATS:
            path = Path(folder) / kind.replace(" ", "-").replace(":", "")
            try:
                path.write_bytes(draw(kind))
            except ImportError as error:
                print(f"{kind}: not measured ({error})")
                continue
            print(f"{kind}, {path.stat().st_size / 2**20:.1f} MB: ", end="", flush=True)
            subprocess.run([sys.executable, "-m", "tests.speed.photos", path], check=True)
        for how in ("told", "as-it-comes"):
            subprocess.run([sys.executable, "-m", "tests.speed.photos", folder, how], check=True)


if __name__ == "__main__":
    if len(sys.argv) > 2:
        serve_for_long(sys.argv[1], sys.argv[2] == "told")
    elif len(sys.argv) > 1:
        decode(sys.argv[1])
    else:
        main()
