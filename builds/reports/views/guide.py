"""The printed guide of a revision: PDF, and one HTML file."""

from django.http import HttpResponse
from django.views.decorators.http import require_GET

from builds.accounts.access import may_design
from builds.guides.access import designers_revision
from builds.reports.guide.html import guide_html
from builds.reports.guide.pdf import guide_pdf
from builds.reports.views.named import named, pdf_answer


@may_design
@require_GET
def pdf(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return pdf_answer(guide_pdf(revision), f"{kit}-{letter}-guide.pdf")


@may_design
@require_GET
def html(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    answer = HttpResponse(guide_html(revision), content_type="text/html; charset=utf-8")
    return named(answer, f"{kit}-{letter}-guide.html")
