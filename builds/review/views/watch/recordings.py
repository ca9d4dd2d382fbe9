"""Recordings of all builds of a kit, two of them side by side, and the build they are compared with."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.bench.models import Build, Recording
from builds.guides.access import designers_revision
from builds.guides.models import Check
from builds.review.amplifier.comparing import compare, make_names
from builds.review.amplifier.folder import take_folder
from builds.review.amplifier.forms import FolderForm
from builds.review.amplifier.recorded import by_signal, find_reference, list_recordings, name_reference
from builds.ui.row_numbers import row_number


@may_design
@require_safe
def recordings(request, kit, letter):
    """The list; with `first` and `second` in the address, those two compared."""
    return _page(request, designers_revision(request.user, kit, letter))


def _page(request, revision, form: FolderForm | None = None, taken=()):
    rows = list_recordings(revision.kit)
    pair, problem = _pair(request.GET, rows)
    context = {
        "revision": revision,
        "rows": rows,
        "by_signal": by_signal(rows),
        "has_recorded_checks": bool(rows)
        or Check.objects.filter(stage__revision=revision).exclude(recording={}).exists(),
        "builds": Build.objects.filter(revision=revision).order_by("serial"),
        "reference": find_reference(revision),
        "problem": problem,
        "pair": pair,
        "names": make_names(pair) if pair else [],
        "comparisons": compare(*pair) if pair else [],
        "form": form or FolderForm(builds=_builds(revision)),
        "taken": taken,
    }
    return render(request, "review/recordings.html", context, status=422 if form and form.errors else 200)


def _has_recorded_checks(revision) -> bool:
    return Check.objects.filter(stage__revision=revision).exclude(recording={}).exists()


def _builds(revision):
    return Build.objects.filter(revision=revision).order_by("serial")


@may_design
@require_POST
@limited("upload")
def add_recordings(request, kit, letter):
    """A folder of recordings, sorted by what they hold."""
    revision = designers_revision(request.user, kit, letter)
    form = FolderForm(request.POST, request.FILES, builds=_builds(revision))
    if not form.is_valid():
        return _page(request, revision, form)
    data = form.cleaned_data
    taken = take_folder(
        revision,
        data["files"],
        build=data["build"],
        meter_volts=data["meter_volts"],
        key=data["entry_key"],
        by=request.user,
    )
    return _page(request, revision, taken=taken)


def _pair(query, rows) -> tuple[list[Recording], str]:
    """The two that were asked for, with their results; or why they cannot be compared."""
    by_pk = {str(row.pk): row for row in rows}
    if not (query.get("first") or query.get("second")):
        return [], ""
    pair = [by_pk.get(query.get(name, "")) for name in ("first", "second")]
    if None in pair or pair[0] == pair[1]:
        return [], _("Choose two different recordings.")
    if any(pair[0].plan[key] != pair[1].plan[key] for key in ("signal", "hertz")):
        return [], _("Choose two recordings of the same test signal.")
    return pair, ""


@may_design
@require_POST
def reference(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    build = get_object_or_404(Build, revision=revision, pk=row_number(request.POST.get("build", "")))
    name_reference(revision, build, request.user)
    messages.success(request, _("Recordings are now compared with build %(serial)s.") % {"serial": build.serial})
    return redirect("review:recordings", kit, letter)
