"""Putting power on record again, after the kit was made safe in the middle of live work."""

from django.contrib import messages
from django.db import transaction
from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.forms import SwitchOnForm
from builds.bench.gates import locks, sittings
from builds.bench.models import PowerOn
from builds.bench.offline import receipts
from builds.bench.offline.arrival import find_arrival, mark_entry_saved
from builds.bench.readings.entry_keys import UsedKey
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.posted_reading import find_check
from builds.bench.views.stage import open_stage, row_url


@signed_in
@require_POST
def switch_on(request, pk, key):
    """The builder is about to switch on again. While a stop stands, only for the check that it stands on. One kept on a
    phone says that the kit had power: that is put on record whatever came in meanwhile."""
    arrival = find_arrival(request)
    with transaction.atomic():
        opened = open_stage(request, access.locked_build(request.user, pk), key)
        if opened.answer:
            return htmx_redirect(request, opened.answer)
        if not opened.stage.is_powered:
            raise Http404(_("This stage is done with the power off."))
        check = find_check(opened.stage, request.POST["check"]) if request.POST.get("check") else None
        form = SwitchOnForm(request.POST)
        if form.is_valid() and (arrival.is_late or not locks.is_stopped_elsewhere(check, opened.facts)):
            _note(request, opened, form, arrival)
    return htmx_redirect(request, redirect(_way_on(opened, check, request.POST.get("step", ""))))


def _note(request, opened, form, arrival) -> None:
    """An old page sent once more puts nothing on record: the page it leads to asks again."""
    key = form.cleaned_data["entry_key"]
    try:
        made = sittings.switch_on(
            opened.build, opened.stage, PowerOn.Why.AGAIN, by=request.user, entry_key=key, at=arrival.at
        )
    except UsedKey:
        return
    receipts.record_late(opened.build, arrival, "power-on")
    mark_entry_saved(request, made.at)
    list(messages.get_messages(request))  # read here: "made safe", still to be shown, is over


def _way_on(opened, check, step: str) -> str:
    """Back to what is done next: a check, a step by its key, or the stage."""
    if check is None:
        known = any(row.key == step for row in opened.stage.steps.all())
        return row_url(opened.build, opened.stage) + (f"#step-{step}" if known else "")
    address = reverse("bench:check", args=[opened.build.pk, opened.stage.key, check.key])
    return f"{address}?measure=1" if check.pk in opened.facts.check_states else address
