"""The fault summary as page, PDF, CSV and JSON; papers for one build."""
from django.http import HttpResponse, JsonResponse, StreamingHttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from builds.accounts.access import may_design, signed_in
from builds.bench.access import designers_build, visible_build
from builds.guides.access import designers_revision
from builds.reports.gather import gather
from builds.reports.papers import build_record as record_pdf
from builds.reports.papers import packing_slip as slip_pdf
from builds.reports.summary_pdf import HARM, summary_pdf
from builds.reports.tabular import csv_lines, summary_json
from builds.review.strip import strip


def _named(answer, name):
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


def _pdf(raw, name):
    return _named(HttpResponse(raw, content_type="application/pdf"), name)


@may_design
@require_GET
def summary(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    gathered = gather(revision)
    findings = [(f, HARM[f.harm], strip(f.band, [(v, True, "") for v in f.values]) if f.values else None)
                for f in gathered.findings]
    return render(request, "reports/summary.html", {"revision": revision, "summary": gathered, "findings": findings})


@may_design
@require_GET
def pdf(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return _pdf(summary_pdf(gather(revision)), f"{kit}-{letter}-fault-summary.pdf")


@may_design
@require_GET
def readings_csv(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return _named(StreamingHttpResponse(csv_lines(revision), content_type="text/csv; charset=utf-8; header=present"),
                  f"{kit}-{letter}-readings.csv")


@may_design
@require_GET
def as_json(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return _named(JsonResponse(summary_json(gather(revision)), json_dumps_params={"indent": 1, "ensure_ascii": False}),
                  f"{kit}-{letter}-fault-summary.json")


@may_design
@require_POST
def packing_slip(request, pk):
    """The link is shown once and never kept, so the page that shows it posts it here; only our own links are printed."""
    build = designers_build(request.user, pk)
    link = request.POST.get("link", "")
    ours = request.build_absolute_uri(reverse("accounts:invitation", args=["x"]))[:-2]
    if not link.startswith(ours) or len(link) > 300:
        return render(request, "accounts/error.html", {"heading": "No link to print", "words": "Make a new link on the "
                      "builds page and print the slip from there."}, status=422)
    return _pdf(slip_pdf(build, link), f"packing-slip-{build.serial}.pdf")


@signed_in
@require_GET
def build_record(request, pk):
    build = visible_build(request.user, pk)
    return _pdf(record_pdf(build), f"build-record-{build.serial}.pdf")
