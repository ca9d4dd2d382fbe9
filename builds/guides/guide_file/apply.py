"""Guide data put over the rows of a draft: what is the same row stays the same row, so that links to it hold."""

from typing import TypeVar

from django.db import models, transaction

from builds.guides.guide_file.store import build_check, build_part, in_order
from builds.guides.models import Check, Point, Revision, Stage, Step
from builds.guides.pictures.saving import show_as

Row = TypeVar("Row", bound=models.Model)
HEAD = ("name", "summary", "mains_volts", "mains_hertz", "taps", "own_faults")


@transaction.atomic
def apply_tables(revision: Revision, data: dict) -> None:
    """Make a draft's rows say what `data` (see write.as_tables) says. Points, parts, stages, steps and checks are told
    by node, reference and key; the files of pictures and translations stay."""
    _head(revision, data)
    _pictures(revision, data)
    _sync(revision.points.all(), "node", [_of(Point, revision, n, row) for n, row in _counted(data["point"])])
    _sync(revision.parts.all(), "ref", [build_part(revision, n, row) for n, row in _counted(data["part"])])
    rows = data["stage"]
    stages = _sync(revision.stages.all(), "key", [_stage(revision, n, row) for n, row in _counted(rows)])
    for stage, row in zip(stages, rows, strict=True):
        _inside(stage, row)


def _pictures(revision: Revision, data: dict) -> None:
    """What is done to the pictures that are there; an edit kept before pictures had changes says nothing of it."""
    if "picture" not in data:
        return
    rows = {row["name"]: row for row in data["picture"]}
    for picture in revision.pictures.all():
        show_as(picture, rows.get(picture.name))


def _counted(rows):
    return enumerate(rows, 1)


def _head(revision: Revision, data: dict) -> None:
    kit = data["kit"]
    mains = kit.get("mains", {})
    values = {
        "name": kit["name"],
        "summary": kit.get("summary", ""),
        "mains_volts": mains.get("volts", 230),
        "mains_hertz": mains.get("hertz", 50),
        "taps": kit.get("taps", []),
        "own_faults": data.get("fault") or None,
    }
    changed = [name for name in HEAD if getattr(revision, name) != values[name]]
    for name in changed:
        setattr(revision, name, values[name])
    if changed:
        revision.save(update_fields=changed)


def _of(model, revision, position: int, row: dict):
    return model(revision=revision, position=position, **row)


def _stage(revision, position: int, row: dict) -> Stage:
    own = {k: v for k, v in row.items() if k not in ("order", "step", "check")}
    return Stage(revision=revision, position=position, **own)


def _inside(stage: Stage, row: dict) -> None:
    places = {key: place for place, key in enumerate(row.get("order", []), 1)}
    steps = in_order(row.get("step", []), places)
    checks: list[Check] = [
        build_check(stage, n, check, places.get(check["key"]))
        for n, check in _counted(in_order(row.get("check", []), places))
    ]
    _sync(
        stage.steps.all(),
        "key",
        [Step(stage=stage, position=n, place=places.get(step["key"]), **step) for n, step in _counted(steps)],
    )
    _sync(stage.checks.all(), "key", checks)


def _sync(existing, key: str, rows: list[Row]) -> list[Row]:
    """Make the existing rows say what `rows` say: deleted, changed in place, added. Returns them saved, in order."""
    old = {getattr(row, key): row for row in existing}
    names = {getattr(row, key) for row in rows}
    existing.model.objects.filter(pk__in=[row.pk for name, row in old.items() if name not in names]).delete()
    saved = []
    for row in rows:
        before = old.get(getattr(row, key))
        if before is not None:
            row.pk = before.pk
            changed = [f.attname for f in row._meta.concrete_fields if _differ(before, row, f.attname)]
            if changed:
                row._state.adding = False
                row._state.db = before._state.db
                row.save(update_fields=changed)
        else:
            row.save()
        saved.append(row)
    return saved


def _differ(before, after, name: str) -> bool:
    return getattr(before, name) != getattr(after, name)
