"""Papers for one build."""

from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design, signed_in
from builds.accounts.limits import limited
from builds.accounts.links import invitation_link
from builds.bench.access import designers_build, visible_build
from builds.reports.papers import build_record as record_pdf
from builds.reports.papers import packing_slip as slip_pdf
from builds.reports.views.named import pdf_answer


@may_design
@require_POST
@limited("paper")
def packing_slip(request, pk):
    """The link is shown once and never kept, so the page that shows it posts it here; only our own links are
    printed."""
    build = designers_build(request.user, pk)
    link = request.POST.get("link", "")
    ours = invitation_link("x")[:-2]
    if not link.startswith(ours) or len(link) > 300:
        return render(
            request,
            "accounts/error.html",
            {
                "heading": _("No link to print"),
                "words": _("Make a new link on the builds page and print the slip from there."),
            },
            status=422,
        )
    return pdf_answer(slip_pdf(build, link), f"packing-slip-{build.serial}.pdf")


@signed_in
@require_safe
@limited("paper")
def build_record(request, pk):
    build = visible_build(request.user, pk)
    return pdf_answer(record_pdf(build), f"build-record-{build.serial}.pdf")
