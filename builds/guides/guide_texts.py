"""A guide with its texts in another language, as its translations give them."""

import copy

from builds.guides.guide_cache import Guide, load_guide
from builds.guides.guide_file.translations import PROBES, current, list_texts
from builds.guides.guide_file.write import as_tables
from builds.guides.models import Revision
from builds.guides.pictures.translated import with_words
from builds.guides.probes import ProbeMap


def load_guide_in(revision: Revision, language: str | None) -> Guide:
    """The guide of a revision as a reader of a language sees it, for display: nothing of it may be saved or computed
    from. Texts that no translation has are the guide's own."""
    guide = load_guide(revision)
    rows = (revision.translations or {}).get((language or "").partition("-")[0])
    if not rows:
        return guide
    if ("texts", language) not in guide.memo:
        guide.memo["texts", language] = _translated(guide, current(rows, list_texts(as_tables(revision, guide))))
    return guide.memo["texts", language]


def stale_translations(revision: Revision, guide: Guide) -> dict[str, int]:
    """{language: texts whose original has changed or gone since they were translated}."""
    sources = list_texts(as_tables(revision, guide)) if revision.translations else {}
    counts = {code: len(rows) - len(current(rows, sources)) for code, rows in (revision.translations or {}).items()}
    return {code: count for code, count in counts.items() if count}


def _translated(guide: Guide, texts: dict) -> Guide:
    parts = {ref: _with(part, ("part", ref), ("note",), texts) for ref, part in guide.parts.items()}
    points = {node: _with(point, ("point", node), ("words",), texts) for node, point in guide.probes.points.items()}
    valves = {ref: parts[ref] for ref in guide.probes.valves}
    stages = tuple(_stage(stage, texts) for stage in guide.stages)
    pictures = {name: with_words(row, texts.get(("picture", name, "words"))) for name, row in guide.pictures.items()}
    return Guide(stages, parts, pictures, ProbeMap(valves, points, guide.probes.leaded, guide.probes.joined))


def _stage(stage, texts):
    made = _with(stage, ("stage", stage.key), ("title", "intro"), texts)
    steps = [_with(row, ("stage", stage.key, "step", row.key), ("text",), texts) for row in stage.steps.all()]
    checks = [_check(row, ("stage", stage.key, "check", row.key), texts) for row in stage.checks.all()]
    for row in (*steps, *checks):
        row.stage = made
    made._prefetched_objects_cache = {
        "steps": _fetched(stage.steps.all(), steps),
        "checks": _fetched(stage.checks.all(), checks),
    }
    return made


def _check(check, path, texts):
    made = _with(check, path, ("title", "note", *PROBES), texts)
    if hints := texts.get((*path, "hint")):
        made.hints = [hint | {"text": text} for hint, text in zip(check.hints, hints, strict=True)]
    return made


def _with(row, path: tuple, names: tuple, texts: dict):
    made = copy.copy(row)
    for name in names:
        if (*path, name) in texts:
            setattr(made, name, texts[*path, name])
    return made


def _fetched(queryset, rows: list):
    """A query that has been answered already."""
    made = queryset.all()
    made._result_cache, made._prefetch_done = rows, True
    return made
