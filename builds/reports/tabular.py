"""All readings as CSV (RFC 4180) and the fault summary as JSON (schema/fault-summary-1.schema.json)."""
import csv

from builds.bench.models import Reading

COLUMNS = ("build", "builder", "stage", "check", "measure", "unit", "attempt", "corrects_slip", "typed", "value",
           "over_range", "true_value", "u", "at_guide_mains", "low", "high", "expected", "outcome", "probability",
           "deviation_half_bands", "mains_volts", "at")
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def harmless(text: str) -> str:
    """Text that a spreadsheet will not run as a formula: an apostrophe goes before a leading sign.

    Plain numbers keep their minus sign: they are not formulas.
    """
    if text.startswith(FORMULA):
        try:
            float(text)
        except ValueError:
            return f"'{text}"
    return text


class _Line:
    """A file that hands each written line straight back, so that a long export is streamed."""

    def write(self, line):
        return line


def csv_lines(revision):
    """Lines of the CSV, header first, CRLF ended."""
    writer = csv.writer(_Line(), lineterminator="\r\n")
    yield writer.writerow(COLUMNS)
    rows = Reading.objects.filter(build__revision=revision).select_related("build__builder", "check_row__stage").order_by(
        "build__serial", "at", "pk")
    for r in rows.iterator(chunk_size=2000):
        yield writer.writerow([harmless(c) if isinstance(c, str) else "" if c is None else c for c in (
            r.build.serial, str(r.build.builder or ""), r.check_row.stage.title, r.check_row.title, r.check_row.measure,
            r.check_row.unit, r.attempt, "yes" if r.is_slip else "no", r.typed, r.value, "yes" if r.over_range else "no",
            r.true_value, r.u, r.at_reference, r.low, r.high, r.expected, r.outcome, r.probability, r.deviation,
            r.mains_volts, r.at.isoformat())])


def _share(share) -> dict:
    return {"count": share.successes, "of": share.n, "low": round(share.low, 6), "high": round(share.high, 6)}


def _band(band) -> dict | None:
    return band and {k: getattr(band, k) for k in ("low", "high", "expected", "stop_below", "stop_above")}


def _finding(number, f) -> dict:
    numbers = f.summary and {"n": f.summary.n, "over_range": f.summary.over, "median": f.summary.median,
                             "robust_spread": f.summary.spread, "mean": f.summary.mean,
                             "offset_half_bands": f.meaning.shift}
    return {"rank": number, "harm": f.harm, "title": f.title, "stage": f.stage, "unit": f.unit, "missed": _share(f.missed),
            "band": _band(f.band), "evidence": numbers, "meaning": f.meaning.kind if f.meaning else None,
            "causes": list(f.causes), "suggested_edit": f.suggestion, "stops": f.stops, "photos": len(f.photos),
            "snags": [{"build": s.build.serial, "kind": s.kind, "severity": s.severity, "words": s.words} for s in f.snags]}


def summary_json(summary) -> dict:
    revision = summary.revision
    return {
        "format": "fault-summary-1", "kit": revision.kit.key, "name": revision.name, "revision": revision.letter,
        "made_at": summary.made_at.isoformat(),
        "builds": {"made": len(summary.builds), "begun": summary.under_way, "signed_off": summary.finished},
        "mains": summary.mains, "meters": summary.meters,
        "findings": [_finding(n, f) for n, f in enumerate(summary.findings, 1)],
        "stages": [{"title": s.title, "first_pass": _share(s.first_pass), "retakes": s.retakes, "builds_done": s.through,
                    "snags": s.snags} for s in summary.stages],
        "deviations": [{"build": r.build.serial, "check": r.check_row.title, "attempt": r.attempt, "typed": r.typed,
                        "at_guide_mains": r.at_reference, "outcome": r.outcome, "half_bands": r.deviation}
                       for r in summary.deviations],
    }
