"""The specification sheet as page, PDF and JSON."""

from django.http import JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides.access import designers_revision
from builds.reports.specification.abbreviations import explain_measures
from builds.reports.specification.as_json import specification_json
from builds.reports.specification.gather import gather_specification
from builds.reports.specification.pdf import specification_pdf, spread_text, valves_text
from builds.reports.views.named import name_download, pdf_answer


@may_design
@require_safe
def specification(request, kit, letter):
    sheet = gather_specification(designers_revision(request.user, kit, letter))
    rows = [(figure, spread_text(figure)) for figure in sheet.figures]
    builds = [(build, valves_text(build)) for build in sheet.measured_on]
    context = {"revision": sheet.revision, "sheet": sheet, "rows": rows, "terms": explain_measures(sheet.measured)}
    context["builds"] = builds
    return render(request, "reports/specification.html", context)


@may_design
@require_safe
@limited("paper")
def pdf(request, kit, letter):
    sheet = gather_specification(designers_revision(request.user, kit, letter))
    return pdf_answer(specification_pdf(sheet), f"{kit}-{letter}-specification.pdf")


@may_design
@require_safe
def as_json(request, kit, letter):
    sheet = gather_specification(designers_revision(request.user, kit, letter))
    answer = JsonResponse(specification_json(sheet), json_dumps_params={"ensure_ascii": False, "indent": 1})
    return name_download(answer, f"{kit}-{letter}-specification.json")
