"""The rows of a draft by kind: where they live, their order, and moving them up and down."""

from collections import Counter

from django.db import transaction
from django.db.models import Max
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from builds.guides.models import Check, Part, Point, Stage, Step

KINDS = {"stage": Stage, "step": Step, "check": Check, "part": Part, "point": Point}
INNER = ("step", "check")


def list_siblings(revision, kind: str, stage_key: str = ""):
    """The rows among which a row of this kind is ordered. Raises Http404 for an unknown kind or stage."""
    if kind not in KINDS:
        raise Http404(_("A guide has stages, steps, checks, parts and points."))
    if kind in INNER:
        stage = get_object_or_404(revision.stages, key=stage_key)
        return getattr(stage, f"{kind}s").all()
    return getattr(revision, f"{kind}s").all()


class SharedKey(ValueError):
    """A step and a check of one stage have the same key, so that no order of both could name them."""


def find_parent(revision, kind: str, stage_key: str = "") -> dict:
    if kind in INNER:
        return {"stage": get_object_or_404(revision.stages, key=stage_key)}
    return {"revision": revision}


@transaction.atomic
def append(row, siblings):
    """Save a new row after its siblings; a step or a check comes last in its stage."""
    order = _in_order(row, siblings)
    row.position = (siblings.aggregate(last=Max("position"))["last"] or 0) + 1
    row.save()
    if isinstance(row, Step | Check):
        _number([*order, row])
    return row


@transaction.atomic
def move(row, siblings, places: int) -> None:
    """Move a row by that many places among its siblings, a step or a check among both; past an end it stops there."""
    order = _in_order(row, siblings)
    before = order.index(row)
    order.insert(max(0, min(len(order) - 1, before + places)), order.pop(before))
    if _is_mixed(order) and (shared := _shared_keys(order)):
        raise SharedKey(shared[0])
    _number(order)


@transaction.atomic
def remove(row, siblings) -> None:
    """Delete a row and close the gap: a step's position is the number that builders know it by."""
    others = [other for other in _in_order(row, siblings) if other != row]
    row.delete()
    _number(others)


def _in_order(row, siblings) -> list:
    return row.stage.items if isinstance(row, Step | Check) else list(siblings)


def row_name(kind: str, row) -> str:
    """A row as its designer knows it, never by its key."""
    if kind == "step":
        return _("step %(n)d of “%(stage)s”") % {"n": row.position, "stage": row.stage.title}
    sentences = {
        "stage": _("the stage “%(name)s”"),
        "check": _("the check “%(name)s”"),
        "part": _("part %(name)s"),
        "point": _("point %(name)s"),
    }
    return sentences[kind] % {"name": row}


def _is_mixed(order: list) -> bool:
    """Are these steps and checks in another order than steps, then checks?"""
    return isinstance(order[0], Step | Check) and order != sorted(order, key=lambda item: item.is_check)


def _shared_keys(items: list) -> list[str]:
    steps, checks = ({item.key for item in items if item.is_check == kind} for kind in (False, True))
    return sorted(steps & checks)


def _number(order: list) -> None:
    """Keep an order: steps and checks count each by themselves, and keep their place among both where they mix."""
    is_mixed = bool(order) and _is_mixed(order) and not _shared_keys(order)
    count: Counter[type] = Counter()
    for place, row in enumerate(order, 1):
        count[type(row)] += 1
        values: dict[str, int | None] = {"position": count[type(row)]}
        if isinstance(row, Step | Check):
            values["place"] = place if is_mixed else None
        _keep(row, values)


def _keep(row, values: dict) -> None:
    if any(getattr(row, name) != value for name, value in values.items()):
        for name, value in values.items():
            setattr(row, name, value)
        row.save(update_fields=[*values])
