"""The rows of a draft by kind: where they live, their order, and moving them up and down."""

from django.db import transaction
from django.db.models import Max
from django.http import Http404
from django.shortcuts import get_object_or_404

from builds.guides.models import Check, Part, Point, Stage, Step

KINDS = {"stage": Stage, "step": Step, "check": Check, "part": Part, "point": Point}
INNER = ("step", "check")


def siblings_of(revision, kind: str, stage_key: str = ""):
    """The rows among which a row of this kind is ordered. Raises Http404 for an unknown kind or stage."""
    if kind not in KINDS:
        raise Http404("A guide has stages, steps, checks, parts and points.")
    if kind in INNER:
        stage = get_object_or_404(revision.stages, key=stage_key)
        return getattr(stage, f"{kind}s").all()
    return getattr(revision, f"{kind}s").all()


def parent_of(revision, kind: str, stage_key: str = "") -> dict:
    if kind in INNER:
        return {"stage": get_object_or_404(revision.stages, key=stage_key)}
    return {"revision": revision}


def append(row, siblings):
    """Save a new row behind its siblings."""
    row.position = (siblings.aggregate(last=Max("position"))["last"] or 0) + 1
    row.save()
    return row


@transaction.atomic
def move(row, siblings, places: int) -> None:
    """Move a row by that many places among its siblings; past an end it stops there."""
    order = list(siblings)
    here = order.index(row)
    order.insert(max(0, min(len(order) - 1, here + places)), order.pop(here))
    _number(order)


@transaction.atomic
def remove(row, siblings) -> None:
    """Delete a row and close the gap: a step's position is the number that builders know it by."""
    row.delete()
    _number(siblings.all())


def called(kind: str, row) -> str:
    """A row as its designer knows it, never by its key."""
    if kind == "step":
        return f"step {row.position} of {row.stage.title}"
    return f"the {kind} “{row.title}”" if kind in ("stage", "check") else f"{kind} {row}"


def _number(order) -> None:
    for position, other in enumerate(order, 1):
        if other.position != position:
            other.position = position
            other.save(update_fields=["position"])
