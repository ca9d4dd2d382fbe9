"""Time and memory of the printed guide of 200 steps with 100 pictures, beside bare reportlab placing the pictures.

python -m tests.speed.printed_guide      (a database of its own in a temporary folder)
"""

import io
import os
import resource
import tempfile
import time
from pathlib import Path

STAGES, STEPS, PICTURES = 10, 20, 100


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "builds.settings"}
        import django

        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        revision = _guide()
        before = _peak()
        from builds.reports.guide.html import guide_html
        from builds.reports.guide.pdf import guide_pdf

        for name, make in (("PDF", guide_pdf), ("HTML", guide_html)):
            start = time.perf_counter()
            made = make(revision)
            size = len(made) if isinstance(made, bytes) else sum(map(len, made))
            print(f"{name}: {time.perf_counter() - start:.1f} s, {size / 1e6:.1f} MB, peak {_peak():.0f} MB")
        print(f"before: {before:.0f} MB")
        start = time.perf_counter()
        size = _bare(revision, Path(folder))
        print(f"bare reportlab, the same pictures: {time.perf_counter() - start:.1f} s, {size / 1e6:.1f} MB")


def _peak() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _guide():
    """A guide as large as guides come, with pictures of noise, which pack worst."""
    import numpy as np
    from django.core.files.base import ContentFile
    from PIL import Image

    from builds.guides.models import Picture, Step
    from tests import factories

    revision = factories.make_revision(issued=False, stages=STAGES, steps=STEPS, checks=4)
    for n in range(PICTURES):
        noise = np.random.default_rng(n).integers(0, 255, (120, 160, 3), dtype=np.uint8)
        out = io.BytesIO()
        Image.fromarray(noise).resize((1600, 1200)).save(out, "JPEG", quality=85)
        picture = Picture(revision=revision, name=f"p{n}.jpg", width=1600, height=1200)
        picture.file.save(picture.name, ContentFile(out.getvalue()))
    for n, step in enumerate(Step.objects.filter(stage__revision=revision)):
        step.text = "Fit **R1** from tag 4 to tag 6, its body 5 mm above the board, and solder both ends. " * 2
        step.picture = f"p{n // 2}.jpg" if n % 2 else ""
        step.save()
    return revision


def _bare(revision, folder: Path) -> int:
    """The same copies of the pictures, one under the other."""
    from reportlab.platypus import Image, SimpleDocTemplate

    from builds.guides.guide_cache import load_guide
    from builds.reports.guide.pictures import print_copies

    out = io.BytesIO()
    copies = print_copies(load_guide(revision).pictures, folder)
    SimpleDocTemplate(out).build([Image(str(path), width=300, height=225) for path, _w, _h in copies.values()])
    return len(out.getvalue())


if __name__ == "__main__":
    main()
