"""Which entries of a build the site has, by their keys. A phone keeps what it sent for some weeks: where an older
backup was put back here meanwhile, it finds what is missing and sends it again under the same keys."""

from django.http import JsonResponse
from django.views.decorators.http import require_safe

from builds.accounts.access import signed_in
from builds.bench import access

SHOWN = 8  # hexadecimal digits of a key: two of one build's hundreds are alike once in a hundred thousand builds


def list_entry_keys(build):
    """The keys of all that can come from a phone. Rows with a key are never deleted: their number only grows."""
    first, *others = (
        rows.order_by().values_list("entry_key", flat=True)
        for rows in (build.readings, build.made_safes, build.power_ons, build.snags, build.sheets, build.receipts)
    )
    return first.union(*others)


@signed_in
@require_safe
def entries(request, pk):
    build = access.own_build(request.user, pk)
    answer = JsonResponse({"born": born(build), "keys": sorted(key.hex[:SHOWN] for key in list_entry_keys(build))})
    answer["Cache-Control"] = "no-store"
    return answer


def born(build) -> str:
    """Tells a build from another that got its number after the site was put back."""
    return build.made_at.isoformat()
