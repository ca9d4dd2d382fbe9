"""A build as a whole: all its readings, finding a word in its guide, and reaching its designer."""

from django.shortcuts import render
from django.utils.translation import get_language
from django.views.decorators.http import require_safe

from builds.accounts.access import signed_in
from builds.bench import access
from builds.bench.gates import gating, sittings
from builds.bench.gates.facts import load_facts
from builds.bench.overview import all_readings as rows
from builds.guides.find import find as find_in
from builds.guides.guide_texts import load_guide_in

MOST_LETTERS = 80  # of what is looked for


@signed_in
@require_safe
def readings(request, pk):
    """Every check with its attempts. `show` and `stage` filter, and stand in the address."""
    build = access.own_build(request.user, pk)
    sitting = sittings.current_sitting(build)
    stages = rows.all_readings(
        build, gating.guide_stages(build), load_facts(build), sitting.mains_volts if sitting else None
    )
    show = request.GET.get("show", "all")
    show, key = show if show in rows.SHOWN else "all", request.GET.get("stage", "")
    return render(
        request,
        "bench/readings.html",
        {
            "build": build,
            "shown": rows.filtered(stages, show, key),
            "stages": [stage.stage for stage in stages],
            "counts": rows.counted(rows.filtered(stages, "all", key)),
            "show": show,
            "key": key,
        },
    )


@signed_in
@require_safe
def find(request, pk):
    build = access.own_build(request.user, pk)
    query = request.GET.get("q", "").strip()[:MOST_LETTERS]
    hits = find_in(load_guide_in(build.revision, get_language()), query)
    return render(request, "bench/find.html", {"build": build, "query": query, "hits": hits})


@signed_in
@require_safe
def designer(request, pk):
    """Who designed the kit and how they are reached."""
    build = access.own_build(request.user, pk)
    kit = build.revision.kit
    return render(
        request,
        "bench/designer.html",
        {
            "build": build,
            "kit": kit,
            "designers": kit.designers.order_by("display_name"),
            "stages": gating.guide_stages(build),
            "snags": build.snags.select_related("stage")[:20],
        },
    )
