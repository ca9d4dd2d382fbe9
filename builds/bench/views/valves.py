"""The builder's page of the valves fitted."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.gates import gating
from builds.bench.valves import fitting
from builds.bench.valves.forms import ValveForm


@signed_in
@require_http_methods(["GET", "POST"])
def fitted(request, pk):
    """Which valve sits in which socket; a post notes one."""
    build = access.own_build(request.user, pk)
    places, known = fitting.sockets(build), fitting.by_socket(build)
    power = gating.power_of(build)
    form = ValveForm(
        request.POST or None,
        sockets=places,
        known=known,
        is_live=power.needs_made_safe,
        initial={"ref": request.GET.get("socket", "")},
    )
    if request.method == "POST" and form.is_valid():
        row = fitting.fit(build, by=request.user, **form.cleaned_data)
        messages.success(request, _("Saved: %(valve)s.") % {"valve": row})
        return redirect("bench:valves", build.pk)
    return render(
        request,
        "bench/valves.html",
        {
            "build": build,
            "form": form,
            "power": power,
            "sockets": [(part, known.get(part.ref, [])[-1:], known.get(part.ref, [])[:-1]) for part in places],
        },
        status=422 if request.method == "POST" else 200,
    )
