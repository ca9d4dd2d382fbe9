"""The list of problems, and triage of one build's deviation."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from builds.accounts.access import may_design
from builds.bench import access
from builds.bench.models import Snag
from builds.guides.access import designers_revision
from builds.review import queries
from builds.review.forms import TriageForm
from builds.review.models import Cause, Triage
from builds.review.problems.listing import CORRECTED, HELD, OUT, PAGE, Filter, count_states, list_problems
from builds.review.problems.state import ProblemState, with_deviation_state
from builds.ui.paging import Pages, page_number

FILTERS = ("state", "cause", "stage", "kind", "now")
OLD_STATES = {"new": "open", "decided": "", "done": "closed"}  # as addresses had them before
NOW = {
    HELD: gettext_lazy("not passed yet"),
    OUT: gettext_lazy("still out of band"),
    CORRECTED: gettext_lazy("in band after a retake"),
}


@may_design
@require_safe
def problems(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    chosen = {name: request.GET.get(name, "") for name in FILTERS}
    chosen["state"] = OLD_STATES.get(chosen["state"], chosen["state"])
    filters, page = Filter(**chosen), page_number(request)
    rows, total = list_problems(revision, filters, page)
    counts = count_states(revision, filters)
    others = [(name, value) for name, value in chosen.items() if value and name != "state"]
    return render(
        request,
        "review/problems.html",
        {
            "revision": revision,
            "rows": rows,
            "wanted": filters,
            "pages": Pages(page, total, PAGE, chosen.items()),
            "total": sum(counts.values()),
            "others": others,
            "states": [(state, counts[state]) for state in ProblemState.values if counts[state]],
            "causes": Cause.choices,
            "kinds": Snag.Kind.choices,
            "now": NOW.items(),
            "stages": revision.stages.values_list("key", "title"),
            **_snags_by_stage(revision),
        },
    )


def _snags_by_stage(revision) -> dict:
    """The stages that have snags, and for each kind of snag its counts: few kinds across many stages fit a phone."""
    stages = queries.snags_by_stage(revision)
    kinds = [
        (kind, label, [(key, title, counts.get(kind, 0)) for key, title, counts in stages])
        for kind, label in Snag.Kind.choices
    ]
    return {"snag_stages": stages, "snag_kinds": [row for row in kinds if any(n for *_stage, n in row[2])]}


@may_design
@require_safe
def old_address(request, kit, letter):
    """The list was at troubles/."""
    designers_revision(request.user, kit, letter)
    address = redirect("review:problems", kit, letter)
    if query := request.META.get("QUERY_STRING"):
        address["Location"] += f"?{query}"
    return address


def save_triage(form, request, **target) -> Triage:
    triage = form.save(commit=False)
    for name, value in target.items():
        setattr(triage, name, value)
    triage.by, triage.at = request.user, timezone.now()
    triage.save()
    return triage


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def deviation(request, pk, check):
    """Triage of one build's deviation on one check."""
    build = access.designers_build(request.user, pk)
    rows = with_deviation_state(build.statuses.select_related("check_row__stage", "latest"))
    status = get_object_or_404(rows, check_row=check)
    row = Triage.objects.filter(build=build, check_row=check).first()
    form = TriageForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        save_triage(form, request, build=build, check_row=status.check_row)
        messages.success(request, _("Saved."))
        return redirect("review:problems", build.revision.kit.key, build.revision.letter)
    return render(
        request,
        "review/deviation.html",
        {
            "build": build,
            "revision": build.revision,
            "status": status,
            "form": form,
            "readings": build.readings.filter(check_row=check),
        },
        status=422 if request.method == "POST" else 200,
    )
