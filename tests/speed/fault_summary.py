"""Time and memory of the fault summary PDF with 200 photos: python -m tests.speed.fault_summary"""

import os
import resource
import sys
import tempfile
import time

os.environ["DATA_DIR"] = tempfile.mkdtemp()
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")


def main(photos: int = 200):
    import django

    django.setup()
    from django.core.files.uploadedfile import SimpleUploadedFile
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from builds.bench.models import Snag
    from builds.bench.photos.storage import save_photo
    from builds.reports.gather import gather
    from builds.reports.summary_pdf import summary_pdf
    from tests import factories
    from tests.speed.pictures import noisy_photo

    revision = factories.make_revision(stages=4, checks=10)
    stage = revision.stages.first()
    raw = noisy_photo()
    for n in range(photos // 10):
        build = factories.make_build(revision=revision, builder=factories.make_builder())
        check = stage.checks.all()[n % 10]
        factories.add_reading(build=build, check=check, value=350, outcome="out of band")
        snag = Snag.objects.create(build=build, stage=stage, check_row=check, kind="reading", words="It reads high.")
        for _ in range(10):
            save_photo(SimpleUploadedFile("p.jpg", raw), build=build, stage=stage, snag=snag)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    start = time.perf_counter()
    pdf = summary_pdf(gather(revision))
    took = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{photos} photos: {took:.2f} s (goal 10 s, ratio {took / 10:.2f}); PDF {len(pdf) / 2**20:.1f} "
        f"MiB; peak memory of the whole "
        f"process {peak:.0f} MiB (goal 300 MiB, ratio {peak / 300:.2f}; {before:.0f} MiB before)"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
