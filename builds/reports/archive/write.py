"""Writing an archive: every file goes through a small buffer, however large it is and however many there are."""

import csv
import hashlib
import tempfile
from contextlib import contextmanager
from io import TextIOWrapper
from shutil import copyfileobj
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from builds.bench.models import Photo
from builds.reports.archive.names import photo_name, safe
from builds.reports.as_json import json_lines
from builds.reports.gather import gather
from builds.reports.sheets import stage_sheets
from builds.reports.sheets_pdf import write_sheet
from builds.reports.summary_pdf import write_summary
from builds.reports.tabular import change_lines, csv_lines, defuse

BLOCK = 64 * 1024
INDEX = ("file", "build", "stage", "step", "check", "snag", "taken")
READ_ME = """Fault summary archive: {name}, revision {letter}, made {made:%d %B %Y %H:%M} UTC

fault-summary.pdf    the fault summary, to read and print
fault-summary.json   the same for programs (schema: fault-summary-1)
readings.csv         every reading
changes.csv          every edit of the guide's text, decided on or proposed
stages/              one page a stage for whoever rewrites it
photos/              every photo, a folder a build; photos.csv says what each shows
SHA256SUMS           check sums: sha256sum -c SHA256SUMS

The kit holds lethal voltages; local codes and licensed practice come before anything said here.
"""


class Archive:
    """A zip file being written to `out`, with the check sums of what is in it."""

    def __init__(self, out, made_at):
        self.zip = ZipFile(out, "w", allowZip64=True)
        self.when = made_at.timetuple()[:6]
        self.sums: list[tuple[str, str]] = []

    @contextmanager
    def file(self, name: str, *, packed: bool = True):
        """Where the bytes of one file go."""
        info = ZipInfo(name, self.when)
        info.compress_type, info.external_attr = ZIP_DEFLATED if packed else ZIP_STORED, 0o644 << 16
        with self.zip.open(info, "w", force_zip64=True) as inner:
            summed = _Summed(inner)
            yield summed
        self.sums.append((summed.sha.hexdigest(), name))

    def texts(self, name: str, pieces) -> None:
        with self.file(name) as out:
            for piece in pieces:
                out.write(piece.encode())

    def made(self, name: str, write) -> None:
        """A file whose maker wants to go back and forth in it: through a temporary one."""
        with tempfile.TemporaryFile() as draft:
            write(draft)
            draft.seek(0)
            self.copied(name, draft)

    def copied(self, name: str, file, *, packed: bool = True) -> None:
        with self.file(name, packed=packed) as out:
            copyfileobj(file, out, BLOCK)

    def close(self) -> None:
        sums = list(self.sums)
        self.texts("SHA256SUMS", (f"{value}  {name}\n" for value, name in sums))
        self.zip.close()


class _Summed:
    def __init__(self, out):
        self.out, self.sha = out, hashlib.sha256()

    def write(self, data) -> int:
        self.sha.update(data)
        return self.out.write(data)


def write_archive(out, revision, report) -> int:
    """Write the archive of a revision to a file; says how many photos are in it. `report` as it goes."""
    photos = (
        Photo.objects.filter(build__revision=revision)
        .select_related("build", "stage", "step", "check_row", "snag")
        .order_by("build__serial", "at", "pk")
    )
    total = photos.count() + revision.stages.count() + 4
    report(0, total, "builds")
    summary = gather(revision)
    archive = Archive(out, summary.made_at)
    archive.texts("READ-ME.txt", [READ_ME.format(name=revision.name, letter=revision.letter, made=summary.made_at)])
    done = _papers(archive, summary, report, total)
    written = _photos(archive, photos, report, done, total)
    archive.close()
    report(total, total)
    return written


def _papers(archive, summary, report, total) -> int:
    texts = (
        ("readings.csv", lambda: csv_lines(summary.revision)),
        ("changes.csv", lambda: change_lines(summary)),
        ("fault-summary.json", lambda: json_lines(summary)),
    )
    done = 0
    for done, (name, lines) in enumerate(texts, 1):
        archive.texts(name, lines())
        report(done, total, "file", name=name)
    archive.made("fault-summary.pdf", lambda file: write_summary(file, summary))
    for number, sheet in enumerate(stage_sheets(summary), 1):
        done += 1
        report(done, total, "sheet", stage=sheet.stage.title)
        archive.made(
            f"stages/{number:02d}-{safe(sheet.stage.key)}.pdf",
            lambda file, sheet=sheet: write_sheet(file, summary, sheet),
        )
    return done + 1


def _photos(archive, photos, report, done: int, total: int) -> int:
    """Every photo as it is kept, and a list of them; one whose file is gone is listed as such."""
    written = 0
    with tempfile.TemporaryFile() as listed:
        text = TextIOWrapper(listed, "utf-8", newline="", write_through=True)
        index = csv.writer(text, lineterminator="\r\n")
        index.writerow(INDEX)
        for number, photo in enumerate(photos.iterator(chunk_size=500), 1):
            name = photo_name(photo, number)
            there = _photo(archive, name, photo)
            written += there
            index.writerow(map(defuse, _photo_row(photo, name if there else "gone")))
            report(done + number, total, "photos", serial=photo.build.serial)
        text.flush()
        listed.seek(0)
        archive.copied("photos.csv", listed)
    return written


def _photo(archive, name, photo) -> bool:
    try:
        file = photo.full.open("rb")
    except OSError:
        return False
    with file:
        archive.copied(name, file, packed=False)  # a JPEG packs no smaller
    return True


def _photo_row(photo, name) -> tuple:
    return (
        name,
        photo.build.serial,
        photo.stage.title,
        photo.step.key if photo.step else "",
        photo.check_row.title if photo.check_row else "",
        photo.snag.words if photo.snag else "",
        photo.at.isoformat(),
    )
