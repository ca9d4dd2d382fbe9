"""Making safe, and the page that a stop takes over."""

from django.contrib import messages
from django.db.models import Max, Min, Q
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.diagnosis import designer_hints
from builds.bench.diagnosis.allowed_measurements import allowed_measurements
from builds.bench.diagnosis.diagnose import diagnose
from builds.bench.forms import MadeSafeForm
from builds.bench.gates import gating, stops
from builds.bench.gates.discharge import compute_discharge
from builds.bench.gates.facts import load_facts
from builds.bench.models import MadeSafe
from builds.bench.offline import receipts
from builds.bench.offline.arrival import find_arrival, is_judged_by_other, mark_entry_saved
from builds.bench.offline.judging import safe_key
from builds.bench.readings.bench_then import bench_at
from builds.bench.readings.entry_keys import UsedKey, add_once, used_before
from builds.bench.readings.made_safe import is_safe
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.guides.guide_cache import load_guide
from builds.ui.formatting import format_entry
from builds.ui.messages import bench as texts
from checks.quantity import Quantity
from checks.safety import TOUCH_DC

LEAST_START = 450.0  # V: the wait is worked out from here at least, whatever was read
OVER_RANGE = 1000.0  # V: the highest range of a hand-held meter (common practice)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def make_safe(request, pk):
    """Log a reading across the reservoir. At or above the touch limit is kept too, and says to wait. `back`: the stage,
    or stage/step, that the builder came from and returns to."""
    build = access.own_build(request.user, pk)
    form = MadeSafeForm(request.POST or None)
    back = request.POST.get("back") or request.GET.get("back", "")
    if request.method == "POST" and form.is_valid() and (shown := _logged_safe(request, build, form)):
        messages.success(request, texts.made_safe(shown))
        return htmx_redirect(request, redirect(_way_back(build, back)))
    context = _context(build, form) | {"back": back}
    return render(request, "bench/make-safe.html", context, status=422 if form.errors else 200)


def _way_back(build, back: str) -> str:
    """The page of the stage named by `back`, at its step; the build's page where it names none of this guide."""
    stage_key, _slash, step_key = back.partition("/")
    stage = next((s for s in gating.guide_stages(build) if s.key == stage_key), None)
    if stage is None:
        return reverse("bench:build", args=[build.pk])
    step = next((s for s in stage.steps.all() if s.key == step_key), None)
    return reverse("bench:stage", args=[build.pk, stage.key]) + (f"#step-{step.key}" if step else "")


def _logged_safe(request, build, form) -> str:
    """Log the reading; what it says where it makes the kit safe. Else the form says why not, and comes back with a new
    key: the next reading is a new entry."""
    data, arrival = form.cleaned_data, find_arrival(request)
    good = is_safe(bench_at(build, arrival), form.quantity)
    if good and is_judged_by_other(request, safe_key(bench_at(build, arrival))):
        form.add_error("typed", texts.judged_by_other())
        return ""
    try:
        made, is_new = add_once(
            MadeSafe,
            data["entry_key"],
            {"build": build, "typed": data["typed"]},
            volts=form.quantity.value,
            is_safe=good,
            at=load_facts(build).dated(arrival.at, reassures=good),
        )
    except UsedKey as error:
        form.ask_again(error)
        return ""
    receipts.record_late(build, arrival, "made-safe")
    mark_entry_saved(request, made.at)
    shown = format_entry(made.typed, "V")
    had_power_since = made.is_safe and not is_new and gating.find_power(build).needs_made_safe
    if made.is_safe and not had_power_since:
        return shown
    form.renew_key()
    form.add_error("typed", used_before(shown) if had_power_since else _why_not(form.quantity, shown))
    return ""


def _why_not(quantity: Quantity, shown: str) -> str:
    is_below = quantity.value is not None and abs(quantity.value) < TOUCH_DC
    return (texts.not_surely_safe if is_below else texts.not_safe)(shown, TOUCH_DC)


def make_safe_context(build) -> dict:
    """What the instructions for making safe show, with an empty form."""
    return _context(build, MadeSafeForm())


def _context(build, form) -> dict:
    start = _highest_volts(build)
    discharge = compute_discharge(build.revision, start)
    return {
        "build": build,
        "form": form,
        "limit": TOUCH_DC,
        "power": gating.find_power(build),
        "discharge": discharge,
        "discharge_sentence": discharge and texts.discharge_sentence(discharge, start, TOUCH_DC),
    }


def _highest_volts(build) -> float:
    """What the supply may have stood at, of either sign; beyond a meter's range nobody knows how far."""
    read = build.readings.filter(check_row__measure="dc volts")
    extremes = read.aggregate(Max("value"), Min("value"), Max("true_value"), Min("true_value"))
    over = read.filter(Q(over_range=True) | Q(below_range=True)).exists()
    return max(
        LEAST_START, OVER_RANGE if over else 0.0, *(abs(volts) for volts in extremes.values() if volts is not None)
    )


@signed_in
@require_safe
def stop(request, pk):
    """Switch off, discharge, what to look for. Stands until a made-safe reading is logged."""
    build = access.own_build(request.user, pk)
    facts = load_facts(build)
    power = gating.find_power(build, facts)
    if not power.stop_unanswered:
        return redirect("bench:build", build.pk)
    reading = stops.stop_reading(build, power)
    check = reading.check_row
    allowed = allowed_measurements(build, check, facts)
    hints, _next = designer_hints.for_reading(check, reading, load_guide(build.revision), allowed)
    return render(
        request,
        "bench/stop.html",
        _context(build, MadeSafeForm())
        | {
            "check": check,
            "reading": reading,
            "hints": hints,
            "found": diagnose(build, check, facts),
        },
    )
