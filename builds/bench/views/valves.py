"""The builder's page of the valves fitted."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.gates import gating, stops
from builds.bench.readings.entry_keys import UsedKey, posted_key
from builds.bench.valves import fitting, own_valves
from builds.bench.valves.followed import list_followed
from builds.bench.valves.forms import ValveForm
from builds.bench.valves.replaced import SWAPS, changed_with, reopen_checks
from builds.guides.alternatives import permitted_types
from builds.ui.formatting import listed


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def fitted(request, pk):
    """Which valve sits in which socket; a post notes one."""
    if request.method == "POST":
        with transaction.atomic():  # power that comes on record at the same moment takes its turn
            build = access.locked_build(request.user, pk)
            power, form = gating.find_power(build), _form(request, build)
            saved = form.is_valid() and _save(request, build, form)
        if saved:
            messages.success(request, _("Saved: %(valve)s.") % {"valve": saved})
            return redirect("bench:valves", build.pk)
        return _page(request, build, form, power, fitting.by_socket(build), 422)
    build = access.own_build(request.user, pk)
    power = gating.find_power(build)
    if power.stop_unanswered:  # nothing comes before the order to switch off
        return redirect("bench:stop", build.pk)
    known, initial = fitting.by_socket(build), {"ref": request.GET.get("socket", "")}
    form = ValveForm(sockets=fitting.sockets(build), known=known, initial=initial)
    return _page(request, build, form, power, known, 200)


def _page(request, build, form, power, known, status):
    rows = [
        (part, known.get(part.ref, [])[-1:], known.get(part.ref, [])[:-1], permitted_types(part))
        for part in fitting.sockets(build)
    ]
    own_valves.ask_for_figures(build)  # an earlier try may have been lost
    context = {
        "build": build,
        "form": form,
        "power": power,
        "stopped": stops.active_stop(build, power),
        "sockets": rows,
        "followed": list_followed(build),
        "is_waiting": bool(build.own_valves) and build.valve_figures_id is None,
    }
    return render(request, "bench/valves.html", context, status=status)


def _form(request, build) -> ValveForm:
    """The form of a post, judged as before that post: a second tap is no second valve."""
    key = posted_key(request.POST)
    was_sent = bool(key) and build.valves.filter(entry_key=key).exists()
    return ValveForm(
        request.POST,
        sockets=fitting.sockets(build),
        known=fitting.by_socket(build, key if was_sent else None),
        is_live=gating.find_power(build).needs_made_safe and not was_sent,
    )


def _save(request, build, form):
    try:
        row = fitting.note_fitted(build, by=request.user, **form.cleaned_data)
    except UsedKey as error:
        form.ask_again(error)
        return None
    was = build.own_valves
    own_valves.settle_valves(build)
    if row.why in SWAPS or build.own_valves != was:
        refs = changed_with(build, row.ref, row.why)
        _ask_again(request, reopen_checks(build, *refs), listed(refs))
    return row


def _ask_again(request, readings: int, refs: str) -> None:
    if readings:
        text = ngettext(
            "%(n)d reading at %(valve)s was taken with the old valve. Take it again.",
            "%(n)d readings at %(valve)s were taken with the old valve. Take them again.",
            readings,
        )
        messages.warning(request, text % {"n": readings, "valve": refs})
