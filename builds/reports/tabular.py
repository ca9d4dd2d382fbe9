"""All readings, and all edits of the guide's text, as CSV (RFC 4180)."""

import csv
import re
import unicodedata

from builds.bench.models import Reading, mark_outdated

COLUMNS = (
    "build",
    "builder",
    "stage",
    "check",
    "measure",
    "unit",
    "attempt",
    "corrects_slip",
    "typed",
    "value",
    "value_unit",
    "over_range",
    "true_value",
    "u",
    "at_guide_mains",
    "low",
    "high",
    "expected",
    "outcome",
    "outdated",
    "probability",
    "deviation_half_bands",
    "mains_volts",
    "at",
)
FORMULA = ("=", "+", "-", "@")
# What a spreadsheet may split or skip before it looks for a formula, with every blank, control and format character.
# Letters that look like blanks (the fillers of Hangul, the empty Braille cell) are skipped as well.
BEFORE = ",;|:'\"\u115f\u1160\u2800"
# Where one that is set to another country's separator begins a cell of its own, in the middle of ours.
SPLITTING = re.compile(r"([;\t\r\n\v\f\x85\u2028\u2029]+)")


def defuse(text: str) -> str:
    """Text that a spreadsheet will not run as a formula: an apostrophe goes before a sign that leads, be it full-width
    or behind blanks and separators, and before one that leads after a separator inside. Plain numbers keep their minus
    sign: they are not formulas."""
    first, *rest = SPLITTING.split(text)
    inside = "".join(piece if n % 2 == 0 else _defused(piece) for n, piece in enumerate(rest))
    # Whole, too: "-1;2" begins with a number where it is split, and with a sign where it is not.
    if _is_formula(text) or (not first and text[:1] in ("\t", "\r", "\n")):
        return f"'{first}{inside}"
    return _defused(first) + inside


def _defused(text: str) -> str:
    return f"'{text}" if _is_formula(text) else text


def _is_formula(text: str) -> bool:
    plain = unicodedata.normalize("NFKC", text).replace("\u2212", "-")
    leading = next((c for c in plain if c not in BEFORE and unicodedata.category(c)[0] not in "ZCM"), "")
    if leading not in FORMULA:
        return False
    try:
        float(text)
    except ValueError:
        return True
    return False


class _Line:
    """A file that hands each written line straight back, so that a long export is streamed."""

    def write(self, line):
        return line


def csv_lines(revision):
    """Lines of the CSV, header first, CRLF ended."""
    writer = csv.writer(_Line(), lineterminator="\r\n")
    yield writer.writerow(COLUMNS)
    rows = (
        mark_outdated(Reading.objects.filter(build__revision=revision))
        .select_related("build__builder", "check_row__stage")
        .order_by("build__serial", "at", "pk")
    )
    for r in rows.iterator(chunk_size=2000):
        yield writer.writerow(
            [
                defuse(c) if isinstance(c, str) else "" if c is None else c
                for c in (
                    r.build.serial,
                    str(r.build.builder or ""),
                    r.check_row.stage.title,
                    r.check_row.title,
                    r.check_row.measure,
                    r.check_row.unit,
                    r.attempt,
                    "yes" if r.is_slip else "no",
                    r.typed,
                    r.value,
                    r.unit,
                    "yes" if r.over_range else "no",
                    r.true_value,
                    r.u,
                    r.at_reference,
                    r.low,
                    r.high,
                    r.expected,
                    r.outcome,
                    "yes" if r.is_outdated else "no",
                    r.probability,
                    r.deviation,
                    r.mains_volts,
                    r.at.isoformat(),
                )
            ]
        )


CHANGE_COLUMNS = ("where", "what", "before", "after", "source", "decided", "why", "evidence", "answers", "at")


def change_lines(summary):
    """Every edit of the guide's text as CSV: those decided on with their evidence, then those proposed or to be
    written."""
    writer = csv.writer(_Line(), lineterminator="\r\n")
    yield writer.writerow(CHANGE_COLUMNS)
    for change in summary.changes.changes:
        shared = (change.decided, change.reason, change.evidence, change.answers, change.at.isoformat())
        for edit in change.edits:
            yield writer.writerow(
                map(defuse, (edit.where, edit.what, edit.before, edit.after or "", edit.source, *shared))
            )
        if not change.edits:
            yield writer.writerow(map(defuse, (change.about, "", "", "", "", *shared)))
    for (
        erratum
    ) in summary.changes.errata:  # what builders were told beside the frozen guide: the next one is to say it itself
        yield writer.writerow(
            map(
                defuse,
                (
                    f"{erratum.stage.title}: {erratum.about}",
                    "erratum",
                    "",
                    erratum.told,
                    "erratum",
                    "",
                    erratum.again,
                    "",
                    "",
                    erratum.at.isoformat(),
                ),
            )
        )
    for finding in summary.findings:
        for edit in finding.edits:
            if edit.source != "accepted":
                evidence = finding.meaning.description if finding.meaning else ""
                yield writer.writerow(
                    map(
                        defuse,
                        (
                            edit.where,
                            edit.what,
                            edit.before,
                            edit.after or "",
                            edit.source,
                            finding.decided,
                            edit.why,
                            evidence,
                            "",
                            "",
                        ),
                    )
                )
