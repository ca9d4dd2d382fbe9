"""The printed guide of a revision: PDF, and one HTML file."""

from django.http import StreamingHttpResponse
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design, signed_in
from builds.accounts.limits import limited
from builds.bench.access import visible_build
from builds.guides.access import designers_revision
from builds.reports.guide.html import guide_html
from builds.reports.guide.parts_paper import labels_pdf, parts_pdf
from builds.reports.guide.pdf import guide_pdf
from builds.reports.views.named import name_download, pdf_answer


@may_design
@require_safe
@limited("paper")
def pdf(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return pdf_answer(guide_pdf(revision), f"{kit}-{letter}-guide.pdf")


@may_design
@require_safe
@limited("paper")
def html(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    answer = StreamingHttpResponse(guide_html(revision), content_type="text/html; charset=utf-8")
    return name_download(answer, f"{kit}-{letter}-guide.html")


@may_design
@require_safe
@limited("paper")
def parts(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return pdf_answer(parts_pdf(revision), f"{kit}-{letter}-parts.pdf")


@may_design
@require_safe
@limited("paper")
def labels(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    return pdf_answer(labels_pdf(revision), f"{kit}-{letter}-bag-labels.pdf")


@signed_in
@require_safe
@limited("paper")
def build_parts(request, pk):
    build = visible_build(request.user, pk)
    return pdf_answer(parts_pdf(build.revision, build.serial), f"parts-{build.serial}.pdf")
