"""Snags that say the same: one is answered for all of them. A builder sees the answers, never another builder's words
or photos."""

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from builds.bench.models import Message, Snag
from builds.ui.errors import SiteError

MOST_OFFERED = 60


def thread_for_builder(snag: Snag):
    """A snag's thread and, where it was merged, the designers' part of the thread of the snag that is answered for
    it."""
    own = Q(snag=snag)
    if snag.merged_into:
        kit = snag.build.revision.kit_id
        theirs = Q(snag=snag.merged_into_id, by__kits=kit) & ~Q(by=snag.merged_into.build.builder_id)
        own |= theirs
    return Message.objects.filter(own).select_related("by").distinct().order_by("at", "pk")


@transaction.atomic
def merge(snag: Snag, into: Snag) -> None:
    """Answer `snag` with `into` from now on; what was merged into `snag` goes along. Raises SiteError where that
    makes no sense."""
    into = into.merged_into or into
    if into.pk == snag.pk or into.build.revision.kit_id != snag.build.revision.kit_id:
        raise SiteError(_("A snag can only be merged into another snag of the same kit."), argument="into")
    Snag.objects.filter(Q(pk=snag.pk) | Q(merged_into=snag.pk)).update(merged_into=into.pk, state=into.state)


def split(snag: Snag) -> None:
    """Undo a merge: the snag stands alone again, open until it is answered itself."""
    Snag.objects.filter(pk=snag.pk, merged_into__isnull=False).update(merged_into=None, state=Snag.State.OPEN)


def candidates(snag: Snag) -> list[Snag]:
    """What a snag may be merged into, likeliest first: about the same step, check or part, then of the same stage, then
    the rest."""
    rows = (
        Snag.objects.own()
        .filter(build__revision__kit=snag.build.revision.kit_id)
        .exclude(pk=snag.pk)
        .select_related("build__revision", "stage", "step", "check_row", "part")[: 10 * MOST_OFFERED]
    )
    return sorted(rows, key=lambda other: -_likeness(snag, other))[:MOST_OFFERED]


def _likeness(a: Snag, b: Snag) -> int:
    """Keys and not rows are compared: the same step of another revision is another row."""
    of = [(s.step and s.step.key, s.check_row and s.check_row.key, s.part and s.part.ref) for s in (a, b)]
    same = sum(x is not None and x == y for x, y in zip(*of, strict=True))
    return 4 * same + 2 * (a.stage.key == b.stage.key) + (a.kind == b.kind)
