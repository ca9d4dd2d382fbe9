"""The valves of one build as its designer sees them: test figures, and what they make of the build's figures."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.bench import access
from builds.bench.readings.entry_keys import UsedKey
from builds.bench.valves import fitting, own_valves
from builds.bench.valves.followed import list_followed
from builds.guides.alternatives import own_type
from builds.review import valve_tests
from builds.review.valve_tests import ValveTestForm


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def valves(request, pk):
    """A post keeps one test."""
    build = access.designers_build(request.user, pk)
    form = ValveTestForm(request.POST or None, build=build, initial=_initial(build, request.GET.get("valve", "")))
    if request.method == "POST" and form.is_valid():
        try:
            row = valve_tests.save_test(build, form, request.user)
        except UsedKey as error:
            form.ask_again(error)
        else:
            messages.success(request, _("Saved the test figures of %(valve)s.") % {"valve": row.ref})
            return redirect("review:build-valves", build.pk)
    own_valves.ask_for_figures(build)
    build.refresh_from_db()
    tests = own_valves.list_tests(build)
    fitted = fitting.by_socket(build)
    context = {
        "build": build,
        "revision": build.revision,
        "form": form,
        "sections": [
            (section, tests.get(section.part.ref, {}).get(section.name), fitted.get(section.part.ref, [])[-1:])
            for section in form.sections.values()
        ],
        "followed": list_followed(build),
        "is_waiting": bool(build.own_valves) and build.valve_figures_id is None,
    }
    return render(request, "review/valves.html", context, status=422 if request.method == "POST" else 200)


def _initial(build, key: str) -> dict:
    """The form for a section: its type, and the book's test point for it."""
    sections = {section.key: section for section in valve_tests.list_sections(build)}
    section = sections.get(key) or next(iter(sections.values()), None)
    if section is None:
        return {}
    type_ = own_type(section.part)
    return {"section": section.key, "type": type_} | valve_tests.book_point(type_, section.part.kind)


@may_design
@require_POST
def take_back(request, pk):
    build = access.designers_build(request.user, pk)
    ref, section = request.POST.get("ref", "")[:20], request.POST.get("section", "")[:1]
    valve_tests.withdraw_test(build, ref, section, request.user)
    messages.success(request, _("The test figures are no longer used."))
    return redirect("review:build-valves", build.pk)
