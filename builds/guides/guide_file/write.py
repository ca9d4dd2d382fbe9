"""A revision as guide data, as TOML text and as a zip with its pictures."""

import io
import zipfile

import tomlkit

from builds.guides.guide_cache import Guide, load_guide
from builds.guides.guide_file import shape
from builds.guides.guide_file.store import in_order
from builds.guides.guide_file.translations import as_toml, list_texts
from builds.guides.models import Revision


def as_data(revision: Revision) -> dict:
    """What read_guide would give, without empty keys and defaults."""
    stages = revision.stages.prefetch_related("steps", "checks")
    rows = revision.pictures.all()
    pictures = {picture.name: _bytes(picture) for picture in rows}
    tables = _tables(revision, rows, revision.points.all(), revision.parts.all(), stages)
    return tables | {"pictures": pictures, "translations": revision.translations or {}}


def as_tables(revision: Revision, guide: Guide | None = None) -> dict:
    """The same as a guide.toml has it, without pictures, for the rules that judge one; `guide` if it is at hand."""
    guide = guide or load_guide(revision)
    points, parts = guide.probes.points.values(), guide.parts.values()
    return {"format": 1, **_tables(revision, guide.pictures.values(), points, parts, guide.stages)}


def _tables(revision, pictures, points, parts, stages) -> dict:
    head = {
        "key": revision.kit.key,
        "name": revision.name,
        "revision": revision.letter,
        "mains": {"volts": revision.mains_volts, "hertz": revision.mains_hertz},
        "taps": revision.taps,
        "summary": revision.summary,
    }
    return {
        "kit": shape.without_defaults("kit", head),
        "picture": [{"name": picture.name, **picture.changes} for picture in pictures if picture.changes],
        "point": [_row("point", point, shape.POINT) for point in points],
        "part": [_row("part", part, shape.PART_COLUMNS) | part.detail for part in parts],
        "fault": revision.own_faults or [],
        "stage": [_stage(stage) for stage in stages],
    }


def _bytes(picture) -> bytes:
    with picture.file.open("rb") as file:
        return file.read()


def _row(table, row, keys) -> dict:
    return shape.without_defaults(table, {key: getattr(row, key) for key in keys})


def _stage(stage) -> dict:
    row = _row("stage", stage, [k for k in shape.STAGE if k not in ("order", "step", "check")])
    keys = [item.key for item in stage.items]
    if keys != [item.key for item in (*stage.steps.all(), *stage.checks.all())]:
        row["order"] = keys
    steps = [_row("step", step, shape.STEP) for step in stage.steps.all()]
    checks = []
    for check in stage.checks.all():
        checks.append(_row("check", check, [k for k in shape.CHECK if k != "hint"]))
        if check.hints:
            checks[-1]["hint"] = check.hints
    return row | ({"step": steps} if steps else {}) | ({"check": checks} if checks else {})


def _picture(row: dict) -> dict:
    return shape.without_defaults("picture", row)


def normalise(data: dict) -> dict:
    """Guide data with defaults and empty keys left out, so that two guides can be compared."""
    stages = []
    for stage in data["stage"]:
        row = shape.without_defaults("stage", stage)
        places = {key: place for place, key in enumerate(row.get("order", []))}
        for name in ("step", "check"):
            if row.get(name):
                row[name] = [shape.without_defaults(name, inner) for inner in in_order(row[name], places)]
        if row.get("order") == [inner["key"] for name in ("step", "check") for inner in row.get(name, [])]:
            del row["order"]
        stages.append(row)
    return {
        "kit": shape.without_defaults("kit", data["kit"]),
        "picture": [row for row in map(_picture, data.get("picture", [])) if len(row) > 1],
        "point": [shape.without_defaults("point", row) for row in data["point"]],
        "part": [shape.without_defaults("part", row) for row in data["part"]],
        "fault": data.get("fault", []),
        "stage": stages,
        "pictures": data["pictures"],
        "translations": data.get("translations") or {},
    }


def write_guide(revision: Revision) -> str:
    """The revision as the text of a guide.toml."""
    data = as_data(revision)
    document = tomlkit.document()
    document.add("format", 1)
    for table in ("kit", "picture", "point", "part", "fault", "stage"):
        if data[table]:
            document.add(table, tomlkit.item(data[table]))
    return tomlkit.dumps(document)


def write_zip(revision: Revision) -> bytes:
    """guide.toml, its translations and the pictures in a zip."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("guide.toml", write_guide(revision))
        sources = list_texts(as_tables(revision)) if revision.translations else {}
        for language, rows in (revision.translations or {}).items():
            archive.writestr(f"guide.{language}.toml", as_toml(rows, sources))
        for picture in revision.pictures.all():
            archive.writestr(picture.name, _bytes(picture))
    return out.getvalue()
