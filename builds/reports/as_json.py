"""The fault summary as JSON (schema/fault-summary-1.schema.json), written a piece at a time: deviations may be many."""

import json
from functools import partial

from builds.bench.models import MadeSafe, PowerOn
from checks.serials import natural

_dumps = partial(json.dumps, ensure_ascii=False)


def json_lines(summary):
    """The document in pieces; together they are one JSON object."""
    head = _dumps(summary_head(summary), indent=1)
    yield head.rstrip().removesuffix("}").rstrip() + ',\n "deviations": ['
    comma = ""
    for reading in summary.deviations:
        yield f"{comma}\n  {_dumps(_deviation(reading))}"
        comma = ","
    yield "\n ]\n}\n"


def summary_head(summary) -> dict:
    """Everything but the deviations."""
    revision = summary.revision
    return {
        "format": "fault-summary-1",
        "kit": revision.kit.key,
        "name": revision.name,
        "revision": revision.letter,
        "made_at": summary.made_at.isoformat(),
        "builds": {"made": len(summary.builds), "begun": summary.under_way, "signed_off": summary.finished},
        "mains": summary.mains,
        "meters": summary.meters,
        "first_pass": _share(summary.first_pass),
        "findings": [_finding(n, f) for n, f in enumerate(summary.findings, 1)],
        "changes": [_change(c) for c in summary.changes.changes],
        "by_hand": [
            {"where": d.where, "what": d.key, "before": str(d.before), "after": str(d.after)}
            for d in summary.changes.by_hand
        ],
        "errata": [
            {
                "where": f"{e.stage.title}, {e.about}",
                "words": e.words,
                "figures": e.correction and e.correction.figures,
                "check_again": e.again,
                "at": e.at.isoformat(),
            }
            for e in summary.changes.errata
        ],
        "goes_with": [
            {
                "check": row.check.title,
                "stage": row.check.stage.title,
                "with": row.label,
                "words": row.sentence,
                "false_discovery_rate": row.q,
            }
            for row in summary.correlations
        ],
        "proofs": [{"where": p.about, "words": p.sentence} for p in summary.proofs],
        "checks": [_check(c) for c in summary.checks],
        "stages": [
            {
                "title": s.title,
                "key": s.key,
                "first_pass": _share(s.first_pass),
                "retakes": s.retakes,
                "builds_done": s.through,
                "snags": s.snags,
                "minutes": minutes,
                "minutes_guide": s.minutes_guide or None,
            }
            for s, minutes in summary.stage_minutes
        ],
        "made_safe": [_made_safe(m) for m in _by_build(MadeSafe, summary.revision)],
        "power_on": [_power_on(p) for p in _by_build(PowerOn, summary.revision, "stage")],
    }


def _by_build(model, revision, *also) -> list:
    rows = model.objects.filter(build__revision=revision).select_related("build", *also)
    return sorted(rows, key=lambda m: (natural(m.build.serial), m.at, m.pk))


def _made_safe(m) -> dict:
    return {"build": m.build.serial, "at": m.at.isoformat(), "typed": m.typed, "volts": m.volts, "safe": m.is_safe}


def _power_on(p) -> dict:
    return {"build": p.build.serial, "at": p.at.isoformat(), "stage": p.stage and p.stage.title, "why": p.why}


def _share(share) -> dict:
    return {"count": share.successes, "of": share.n, "low": round(share.low, 6), "high": round(share.high, 6)}


def _band(band) -> dict | None:
    return band and {k: getattr(band, k) for k in ("low", "high", "expected", "stop_below", "stop_above")}


def _numbers(summary, meaning) -> dict:
    return {
        "n": summary.n,
        "over_range": summary.over,
        "median": summary.median,
        "robust_spread": summary.spread,
        "mean": summary.mean,
        "mean_low": summary.mean_low,
        "mean_high": summary.mean_high,
        "offset_half_bands": meaning.shift,
        "offset_band_widths": meaning.shift / 2,
    }


def _edit(edit) -> dict:
    return {
        "where": edit.where,
        "what": edit.what,
        "before": edit.before,
        "after": edit.after,
        "source": edit.source,
        "why": edit.why,
    }


def _proposal(p) -> dict | None:
    return {"figure": p.figure, "low": p.low, "high": p.high, "builds": p.n, "held_by": p.limit_text} if p else None


def _finding(number, f) -> dict:
    return {
        "rank": number,
        "harm": f.harm,
        "title": f.title,
        "stage": f.stage,
        "unit": f.unit,
        "missed": _share(f.missed),
        "band": _band(f.band),
        "corrected": f.corrected or None,
        "evidence": f.summary and _numbers(f.summary, f.meaning),
        "meaning": f.meaning.kind if f.meaning else None,
        "probability": f.meaning.probability if f.meaning else None,
        "explanations": f.meaning.each if f.meaning else {},
        "proposal": _proposal(f.proposal),
        "causes": list(f.causes),
        "suggested_edit": f.suggestion,
        "edits": [_edit(e) for e in f.edits],
        "decided": f.state.value,
        "stops": f.stops,
        "photos": len(f.photos),
        "snags": [{"build": s.build.serial, "kind": s.kind, "severity": s.severity, "words": s.words} for s in f.snags],
    }


def _change(c) -> dict:
    return {
        "where": c.about,
        "decided": c.decided,
        "in_revision": c.letter or None,
        "edits": [_edit(e) for e in c.edits],
        "why": c.reason,
        "evidence": c.evidence,
        "answers": c.answers or None,
        "at": c.at.isoformat(),
    }


def _check(c) -> dict:
    return {
        "title": c.title,
        "stage": c.stage,
        "unit": c.unit,
        "first_pass": _share(c.first_pass),
        "evidence": _numbers(c.summary, c.meaning),
        "meaning": c.meaning.kind,
        "probability": c.meaning.probability,
    }


def _deviation(r) -> dict:
    return {
        "build": r.build.serial,
        "check": r.check_row.title,
        "attempt": r.attempt,
        "typed": r.typed,
        "at_guide_mains": r.at_reference,
        "outcome": r.outcome,
        "half_bands": r.deviation,
    }
