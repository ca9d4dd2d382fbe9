"""The fault summary as page, PDF, CSV and JSON; a page for every stage."""

from io import BytesIO

from django.core.paginator import Paginator
from django.http import Http404, StreamingHttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides.access import designers_revision
from builds.reports.as_json import json_lines
from builds.reports.executive import executive
from builds.reports.gather import gather
from builds.reports.sheets import stage_sheet
from builds.reports.sheets_pdf import write_sheet
from builds.reports.summary_pdf import summary_pdf
from builds.reports.tabular import change_lines, csv_lines
from builds.reports.texts import method_text
from builds.reports.views.named import name_download, pdf_answer

A_PAGE = 10  # findings; the executive page's links lead to the first of them


@may_design
@require_safe
def summary(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    gathered = gather(revision)
    page = Paginator(gathered.findings, A_PAGE).get_page(request.GET.get("page"))
    gathered.load_points(page.object_list)
    return render(
        request,
        "reports/summary.html",
        {
            "revision": revision,
            "summary": gathered,
            "executive": executive(gathered),
            "method": method_text(),
            "page": page,
            "numbered": enumerate(page, page.start_index()),
        },
    )


@may_design
@require_safe
@limited("paper")
def pdf(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return pdf_answer(summary_pdf(gather(revision)), f"{kit}-{letter}-fault-summary.pdf")


@may_design
@require_safe
def stage(request, kit, letter, stage):
    """One stage for whoever revises it."""
    revision = designers_revision(request.user, kit, letter)
    return render(request, "reports/stage.html", {"revision": revision, "sheet": _sheet(gather(revision), stage)})


@may_design
@require_safe
@limited("paper")
def stage_pdf(request, kit, letter, stage):
    revision = designers_revision(request.user, kit, letter)
    gathered, out = gather(revision), BytesIO()
    write_sheet(out, gathered, _sheet(gathered, stage))
    return pdf_answer(out.getvalue(), f"{kit}-{letter}-{stage}.pdf")


def _sheet(gathered, key):
    filled = stage_sheet(gathered, key)
    if filled is None:
        raise Http404(_("This guide has no such stage."))
    return filled


@may_design
@require_safe
@limited("paper")
def readings_csv(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return _csv(csv_lines(revision), f"{kit}-{letter}-readings.csv")


@may_design
@require_safe
@limited("paper")
def changes_csv(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return _csv(change_lines(gather(revision)), f"{kit}-{letter}-changes.csv")


def _csv(lines, name):
    return name_download(StreamingHttpResponse(lines, content_type="text/csv; charset=utf-8; header=present"), name)


@may_design
@require_safe
@limited("paper")
def as_json(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return name_download(
        StreamingHttpResponse(json_lines(gather(revision)), content_type="application/json"),
        f"{kit}-{letter}-fault-summary.json",
    )
