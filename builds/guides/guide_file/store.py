"""Good guide data made into the rows of a draft revision."""

from django.db import transaction
from django.utils.translation import gettext as _

from builds.guides.circuit.content import content_of_rows
from builds.guides.guide_file import shape
from builds.guides.guide_file.errors import FileProblem, GuideErrors
from builds.guides.models import Check, Kit, KitRole, Part, Point, Revision, Stage, Step, find_role
from builds.guides.pictures.saving import make_picture


@transaction.atomic
def store_guide(data: dict, designer) -> Revision:
    """Make a draft of `data` (from read_guide). A new kit becomes the designer's.

    Raises GuideErrors when the kit is somebody else's or the revision letter is taken.
    """
    head = data["kit"]
    kit, new = Kit.objects.get_or_create(key=head["key"], defaults={"name": head["name"]})
    if new:
        kit.designers.add(designer)
    elif not kit.designers.filter(pk=designer.pk).exists():
        raise GuideErrors(
            [FileProblem(0, "kit key", _("“%(key)s” is already taken. Choose another key.") % {"key": kit.key})]
        )
    elif find_role(designer, kit) == KitRole.Role.READER:
        raise GuideErrors([FileProblem(0, "kit key", _("You can read this kit, but not change it. Ask an owner."))])
    if kit.revisions.filter(letter=head["revision"]).exists():
        sentence = _("This kit already has a revision %(letter)s. Give the file the next letter.")
        raise GuideErrors([FileProblem(0, "kit revision", sentence % {"letter": head["revision"]})])
    revision = _build_revision(data)
    revision.kit = kit
    revision.save()
    store_rows(revision, data)
    return revision


def _build_revision(data: dict) -> Revision:
    head = data["kit"]
    mains = head.get("mains", {})
    return Revision(
        letter=head["revision"],
        name=head["name"],
        summary=head.get("summary", ""),
        mains_volts=mains.get("volts", 230),
        mains_hertz=mains.get("hertz", 50),
        taps=head.get("taps", []),
        own_faults=data.get("fault") or None,
        translations=data.get("translations") or None,
    )


def unsaved_content(data: dict) -> dict:
    """What the circuit model works on (see circuit/content.py), of a guide that has no rows yet."""
    stages = []
    for n, row in enumerate(data["stage"], 1):
        stage, places = _build_stage(None, n, row), _places(row)
        stages.append(
            (stage, [build_check(stage, k, check, place) for k, check, place in _checks_in_order(row, places)])
        )
    return content_of_rows(
        _build_revision(data), [build_part(None, n, row) for n, row in enumerate(data["part"], 1)], stages
    )


def store_rows(revision: Revision, data: dict) -> None:
    """Fill an empty draft with points, parts, stages and pictures."""
    changes = {row["name"]: row for row in data.get("picture", [])}
    for name, raw in data["pictures"].items():
        make_picture(revision, name, raw, changes.get(name))
    Point.objects.bulk_create(Point(revision=revision, position=n, **row) for n, row in enumerate(data["point"], 1))
    Part.objects.bulk_create(build_part(revision, n, row) for n, row in enumerate(data["part"], 1))
    for n, row in enumerate(data["stage"], 1):
        stage, places = _build_stage(revision, n, row), _places(row)
        stage.save()
        Step.objects.bulk_create(
            Step(stage=stage, position=k, place=places.get(step["key"]), **step)
            for k, step in enumerate(in_order(row.get("step", []), places), 1)
        )
        Check.objects.bulk_create(
            build_check(stage, k, check, place) for k, check, place in _checks_in_order(row, places)
        )


def _build_stage(revision, position: int, row: dict) -> Stage:
    own = {k: v for k, v in row.items() if k not in ("order", "step", "check")}
    return Stage(revision=revision, position=position, **own)


def _places(row: dict) -> dict[str, int]:
    """Key of a step or a check -> its place in the order of its stage."""
    return {key: place for place, key in enumerate(row.get("order", []), 1)}


def _checks_in_order(row: dict, places: dict):
    """(position, check, its place in the stage or None), in order."""
    for position, check in enumerate(in_order(row.get("check", []), places), 1):
        yield position, check, places.get(check["key"])


def in_order(rows: list[dict], places: dict) -> list[dict]:
    """Steps or checks in the order of their stage, which may differ from the order in which they are written."""
    return sorted(rows, key=lambda row: places.get(row["key"], 0))


def build_part(revision, position, row) -> Part:
    columns = {k: row[k] for k in shape.PART_COLUMNS if k in row}
    detail = {k: v for k, v in row.items() if k not in shape.PART_COLUMNS}
    return Part(revision=revision, position=position, detail=detail, **columns)


def build_check(stage, position, row, place) -> Check:
    columns = {k: v for k, v in row.items() if k != "hint"}
    return Check(stage=stage, position=position, place=place, hints=row.get("hint", []), **columns)
