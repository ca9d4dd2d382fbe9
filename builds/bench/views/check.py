"""One check in focus: where to put the probes, the field, and the verdict in the same place every time."""
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from builds.accounts.access import signed_in
from builds.bench import advice, sittings
from builds.bench.forms import ReadingForm
from builds.bench.models import Reading
from builds.bench.readings import band_here, line_of, take_reading, tap_of
from builds.bench.views.stage import mark_done, open_stage
from builds.guides.figures import expected_words
from builds.guides.probes import ProbeMap
from checks.errors import ChecksError
from checks.verdict import Outcome


def check_context(build, stage, row, form, last=None) -> dict:
    """All that the check page and its fragment show."""
    sitting = sittings.current(build)
    mains = sitting.mains_volts if sitting else None
    red, black = ProbeMap.of(build.revision).pair(row)
    readings = list(build.readings.filter(check_row=row).order_by("-attempt"))
    last = last or (readings[0] if readings else None)
    standing = build.standings.filter(check_row=row).first()
    checks = list(stage.checks.all())
    after = next((c for c in checks if c.position > row.position), None)
    hints, next_check = advice.for_reading(row, last)
    return {"build": build, "stage": stage, "check": row, "form": form, "red": red, "black": black, "last": last,
            "readings": readings, "standing": standing, "band": band_here(build, row, mains), "mains": mains,
            "line": line_of(build, mains), "tap": tap_of(build), "figure_words": expected_words(row), "hints": hints,
            "hint_next": next_check,
            "shown": _picture(build, row, red), "after": after, "number": checks.index(row) + 1, "of": len(checks)}


def _picture(build, row, red) -> dict | None:
    """The picture that shows the point, its size and the marker's place on it in the picture's own pixels."""
    name, marker = (row.picture, row.marker) if row.picture else (red.picture, red.marker)
    found = name and build.revision.pictures.filter(name=name).first()
    if not found:
        return None
    place = (marker[0] * found.width, marker[1] * found.height) if len(marker) == 2 else ()
    return {"picture": found, "marker": place, "radius": found.width / 25}


@signed_in
@require_GET
def check(request, pk, key, check):
    build, stage, _state, answer = open_stage(request, pk, key)
    if answer:
        return answer
    row = get_object_or_404(stage.checks, key=check)
    return render(request, "bench/check.html", check_context(build, stage, row, ReadingForm(check=row)))


@signed_in
@require_POST
def reading(request, pk, key, check):
    """Take a reading. A stop takes over the page; anything unreadable comes back with what is accepted."""
    again = _already(request, pk)
    if again:
        return _answer(request, *again)
    build, stage, _state, answer = open_stage(request, pk, key)
    if answer:
        return _leave(request, answer)
    row = get_object_or_404(stage.checks, key=check)
    form = ReadingForm(request.POST, check=row)
    if form.is_valid():
        taken = _take(request, build, row, form)
        if taken:
            mark_done(build, stage)
            return _answer(request, build, stage, row, taken)
    template = "bench/_check.html" if request.htmx else "bench/check.html"
    return render(request, template, check_context(build, stage, row, form), status=422)


def _take(request, build, row, form):
    sitting = sittings.current_or_new(build)
    data = form.cleaned_data
    try:
        return take_reading(build, row, data["typed"], by=request.user, entry_key=data["entry_key"],
                            mains_volts=sitting.mains_volts if row.stage.is_powered else None,
                            is_slip=data["is_slip"])
    except ChecksError as error:
        form.add_error("typed", str(error))
        return None


def _already(request, pk):
    """The reading an earlier post with this entry key made, so that a retry shows it instead of adding one."""
    form = ReadingForm(request.POST, check=_Unit)
    form.is_valid()
    key = form.cleaned_data.get("entry_key")
    found = key and Reading.objects.filter(entry_key=key, build=pk, build__builder=request.user).select_related(
        "build__revision__kit", "build__meter", "check_row__stage").first()
    return found and (found.build, found.check_row.stage, found.check_row, found)


class _Unit:
    """Stands in for a check where only the entry key is read."""
    measure, unit, through = "dc volts", "V", ""


def _answer(request, build, stage, row, taken):
    if taken.outcome == Outcome.SWITCH_OFF.value:
        return _leave(request, redirect("bench:stop", build.pk))
    if request.htmx:
        return render(request, "bench/_check.html", check_context(build, stage, row, ReadingForm(check=row), taken))
    return redirect(reverse("bench:check", args=[build.pk, stage.key, row.key]) + "#verdict")


def _leave(request, answer):
    """Make htmx go to another page as a plain form would."""
    if request.htmx and answer.status_code in (302, 303):
        from django_htmx.http import HttpResponseClientRedirect

        return HttpResponseClientRedirect(answer["Location"])
    return answer
