"""The builds of a revision, and making one."""

from django.db import IntegrityError
from django.shortcuts import render
from django.utils import timezone
from django.utils.cache import add_never_cache_headers
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.guides.access import designers_revision
from builds.guides.models import Revision
from builds.review.forms import NewBuildForm
from builds.review.progress import stage_progress
from builds.review.queries import list_checks
from builds.review.views.watch.invitations import make_build
from builds.ui.drawings.qr import qr_svg
from builds.ui.paging import Pages, page_number
from checks.serials import natural

PAGE = 50


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def builds(request, kit, letter):
    """The builds of a revision, and making one; the new link is shown once, on the page that made it."""
    revision = designers_revision(request.user, kit, letter)
    form = NewBuildForm(request.POST or None, revision=revision)
    link, made = "", None
    if request.method == "POST" and form.is_valid():
        if revision.state != Revision.State.ISSUED:
            form.add_error("serial", _("Builds are made from an issued revision. Issue this one first."))
        else:
            try:
                made, link = make_build(request, revision, form.cleaned_data["serial"])
            except IntegrityError:  # a double tap: the first tap made it
                form.add_error("serial", _("This revision has a build with that serial number."))
    rows = sorted(revision.builds.select_related("builder", "invitation"), key=lambda b: natural(b.serial))
    pages = Pages(page_number(request), len(rows), PAGE)
    stages, progress = stage_progress(pages.of(rows), list_checks(revision))
    answer = render(
        request,
        "review/builds.html",
        {
            "revision": revision,
            "form": NewBuildForm(revision=revision) if made else form,
            "made": made,
            "link": link,
            "qr": qr_svg(link) if link else "",
            "stages": stages,
            "progress": [
                (build, in_stages, sum(one.is_complete for one in in_stages)) for build, in_stages in progress
            ],
            "pages": pages,
            "now": timezone.now(),
        },
        status=422 if form.is_bound and form.errors else 200,
    )
    if made:
        add_never_cache_headers(answer)  # it holds the link
    return answer
