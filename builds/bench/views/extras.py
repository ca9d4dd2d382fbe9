"""Logging a reading that the guide does not ask for, because it would tell one cause from another."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.diagnosis import allowed_measurements
from builds.bench.gates import gating
from builds.bench.readings import extras
from builds.bench.readings.entry_keys import UsedKey
from builds.bench.readings.forms import ExtraForm
from builds.guides.circuit.fault_dictionary import load_fault_dictionary
from builds.guides.guide_cache import load_guide
from builds.ui.messages.places import place_label
from checks.errors import ChecksError


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def extra(request, pk, stage, check):
    """A resistance with the power off, asked for under a check that is off; the answer goes back there."""
    build = access.own_build(request.user, pk)
    row = _check(build, stage, check)
    prepared = load_fault_dictionary(build.revision)
    form = ExtraForm(request.POST or None)
    place = prepared and extras.find_place(prepared, request.POST.get("place") or request.GET.get("place", ""))
    if not place:
        raise Http404(_("This kit has no such measuring point."))
    if gating.find_power(build).needs_made_safe:
        messages.error(request, _("Make the kit safe first. This reading needs your hands near the circuit."))
        return redirect("bench:make-safe", build.pk)
    if not allowed_measurements.is_wired(build):
        messages.error(request, _("Some parts are not fitted yet. This reading only helps on a fully wired kit."))
        return redirect("bench:check", build.pk, stage, check)
    if request.method == "POST" and form.is_valid() and _take(request, build, place, form):
        return redirect("bench:check", build.pk, stage, check)
    return render(
        request,
        "bench/extra.html",
        {
            "build": build,
            "check": row,
            "place": place,
            "form": form,
            "red": load_guide(build.revision).probes.probe(place.probe.red),
            "black": load_guide(build.revision).probes.probe(place.probe.black),
        },
        status=422 if request.method == "POST" else 200,
    )


def _check(build, stage, check):
    for other in load_guide(build.revision).stages:
        for row in other.checks.all():
            if (other.key, row.key) == (stage, check):
                return row
    raise Http404(_("This guide has no such check."))


def _take(request, build, place, form) -> bool:
    data = form.cleaned_data
    try:
        extras.take_extra(build, place, data["typed"], entry_key=data["entry_key"], by=request.user)
    except UsedKey as error:
        form.ask_again(error)
        return False
    except ChecksError as error:
        form.refuse(error)
        return False
    messages.success(
        request, _("Saved: %(place)s, %(reading)s.") % {"place": place_label(place), "reading": data["typed"]}
    )
    return True
