"""The archive of a revision's programme: asked for, watched, fetched."""

from django.http import FileResponse, Http404
from django.shortcuts import redirect, render
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides.access import designers_revision
from builds.reports.archive import storing
from builds.reports.views.named import name_download


@may_design
@require_safe
def archive(request, kit, letter):
    """How far it is, or where to fetch it; with htmx the part that asks again."""
    revision = designers_revision(request.user, kit, letter)
    job = storing.find_job(revision)
    made = job.result if job and job.state == job.State.DONE else None
    context = {
        "revision": revision,
        "job": job,
        "url": request.path,
        "made": made,
        "made_at": parse_datetime(made["made_at"]) if made else None,
    }
    return render(request, "reports/_archive.html" if request.htmx else "reports/archive.html", context)


@may_design
@require_POST
@limited("archive")
def make(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    storing.request_archive(revision)
    return redirect("reports:archive", kit, letter)


@may_design
@require_safe
def fetch(request, kit, letter):
    """The file, read and sent a block at a time."""
    revision = designers_revision(request.user, kit, letter)
    opened = storing.open_archive(revision)
    if opened is None:
        raise Http404(_("This archive has not been made."))
    file, job = opened
    answer = FileResponse(file, content_type="application/zip")
    return name_download(answer, f"{kit}-{letter}-archive-{job.result['made_at'][:10]}.zip")
