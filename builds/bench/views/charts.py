"""The voltage chart and the resistance chart of a build."""

from django.http import Http404
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.charts import KINDS, chart
from builds.ui.messages import bench as texts


@signed_in
@require_safe
def charts(request, pk, kind):
    build = access.visible_build(request.user, pk)
    if kind not in KINDS:
        raise Http404(_("There are two charts: voltage and resistance."))
    return render(
        request,
        "bench/charts.html",
        {
            "build": build,
            "title": texts.chart_title(kind),
            "charts": chart(build, kind),
            "own": build.builder_id == request.user.pk,
        },
    )
