"""The worksheet of a stage or of the whole build: as a page to print, and as a PDF."""

from django.http import Http404
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from builds.accounts.access import signed_in
from builds.accounts.limits import limited
from builds.accounts.links import site
from builds.bench.access import visible_build
from builds.reports.views.named import pdf_answer
from builds.reports.worksheet.gather import worksheet as gather
from builds.reports.worksheet.pdf import worksheet_pdf
from builds.ui.drawings.qr import qr_svg
from builds.ui.messages.bench import worksheet_mains
from checks.safety import TOUCH_DC


def _stages(request, build):
    key = request.GET.get("stage", "")
    stages = gather(build, (key,) if key else None, site)
    if not stages:
        raise Http404(_("This guide has no such stage."))
    return key, stages


@signed_in
@require_safe
def page(request, pk):
    build = visible_build(request.user, pk)
    key, stages = _stages(request, build)
    return render(
        request,
        "reports/worksheet.html",
        {
            "build": build,
            "stages": [(stage, qr_svg(stage.address)) for stage in stages],
            "key": key,
            "limit": TOUCH_DC,
            "mains_words": worksheet_mains(build.mains_volts),
            "own": build.builder_id == request.user.pk,
        },
    )


@signed_in
@require_safe
@limited("paper")
def pdf(request, pk):
    build = visible_build(request.user, pk)
    key, stages = _stages(request, build)
    name = f"worksheet-{build.serial}-{key}.pdf" if key else f"worksheet-{build.serial}.pdf"
    return pdf_answer(worksheet_pdf(build, stages), name)
