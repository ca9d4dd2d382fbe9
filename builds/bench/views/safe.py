"""Making safe, and the page that a stop takes over."""

from uuid import uuid4

from django.contrib import messages
from django.db.models import Max
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.diagnosis import designer_hints
from builds.bench.diagnosis.allowed_measurements import allowed_measurements
from builds.bench.diagnosis.diagnose import diagnose
from builds.bench.forms import MadeSafeForm
from builds.bench.gates import gating
from builds.bench.gates.discharge import discharge_of
from builds.bench.gates.facts import facts_of
from builds.bench.models import MadeSafe
from builds.bench.readings.made_safe import is_safe
from builds.guides.guide_cache import load_guide
from checks.entry import with_unit
from checks.safety import TOUCH_DC


@signed_in
@require_http_methods(["GET", "POST"])
def make_safe(request, pk):
    """Log a reading across the reservoir. At or above the touch limit is kept too, and says to wait."""
    build = access.own_build(request.user, pk)
    form = MadeSafeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = _log(build, form)
        if made.is_safe:
            messages.success(
                request,
                f"Made safe at {with_unit(made.typed, 'V')}. Leave the black lead clipped on and measure again "
                "after a few minutes: charge creeps back.",
            )
            return redirect("bench:build", build.pk)
        form.add_error(
            "typed",
            f"{with_unit(made.typed, 'V')} is not safe: the limit is {TOUCH_DC:g} V DC. Keep hands out, wait, "
            "discharge through the resistor and measure again.",
        )
        form.data = _fresh(form.data)
    return render(request, "bench/make-safe.html", _context(build, form), status=422 if form.errors else 200)


def _log(build, form) -> MadeSafe:
    """The same entry again is a retry; another reading from a page that was sent already is logged for itself."""
    volts, typed, key = form.quantity.value, form.cleaned_data["typed"], form.cleaned_data["entry_key"]
    before = MadeSafe.objects.filter(entry_key=key).first()
    if before and before.build_id == build.pk and before.typed == typed:
        return before
    return MadeSafe.objects.create(
        entry_key=uuid4() if before else key,
        build=build,
        typed=typed,
        volts=volts,
        is_safe=is_safe(build, form.quantity),
    )


def _context(build, form) -> dict:
    highest = build.readings.filter(check_row__measure="dc volts").aggregate(most=Max("value"))["most"]
    return {
        "build": build,
        "form": form,
        "limit": TOUCH_DC,
        "power": gating.power_of(build),
        "discharge": discharge_of(build.revision, max(highest or 0, 450.0)),
        "start_volts": max(highest or 0, 450.0),
    }


@signed_in
@require_GET
def stop(request, pk):
    """Switch off, discharge, what to look for. Stands until a made-safe reading is logged."""
    build = access.own_build(request.user, pk)
    facts = facts_of(build)
    power = gating.power_of(build, facts)
    if not power.stop_unanswered:
        return redirect("bench:build", build.pk)
    stand = build.statuses.select_related("latest", "check_row__stage").get(check_row=power.stop_check)
    allowed = allowed_measurements(build, stand.check_row, facts)
    hints, _next = designer_hints.for_reading(stand.check_row, stand.latest, load_guide(build.revision), allowed)
    return render(
        request,
        "bench/stop.html",
        _context(build, MadeSafeForm())
        | {
            "check": stand.check_row,
            "reading": stand.latest,
            "hints": hints,
            "found": diagnose(build, stand.check_row, facts),
        },
    )


def _fresh(data):
    """The same form with a new entry key, so that the next try is a new entry."""
    data = data.copy()
    data["entry_key"] = str(uuid4())
    return data
