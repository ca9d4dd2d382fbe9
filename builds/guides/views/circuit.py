"""What the circuit model makes of a guide: figures beside the guide's own, over-stress, troubles of the circuit."""

from django.contrib import messages
from django.db import transaction
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design
from builds.accounts.limits import limited
from builds.guides import access
from builds.guides.circuit.component_stress import list_circumstances, stress_lines
from builds.guides.circuit.durations import slow_rows
from builds.guides.circuit.model_comparison import compare_check, compare_stages
from builds.guides.circuit.stored import KIND, figures_or_job, key_for, saved_figures
from builds.guides.circuit.take_figure import as_model, as_numbers, as_prototype, shown_version
from builds.guides.editor.conflicts import find_version
from builds.guides.editor.edits import one_edit
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.compare import by_figure, table_differences
from builds.guides.guide_file.write import as_tables
from builds.guides.models import Check
from builds.jobs import queue
from builds.ui.formatting import format_figure
from builds.ui.messages.circuit import (
    assumed_figure_label,
    assumed_label,
    assumed_range,
    circumstance_label,
    remark_sentence,
)
from builds.ui.messages.progress import slowest_sentence


@may_design
@require_safe
def circuit(request, kit, letter):
    """The page, or while the figures are being made its progress; with htmx the fragment that asks again."""
    revision = access.designers_revision(request.user, kit, letter)
    guide = load_guide(revision)
    figures, job = figures_or_job(revision, guide)
    context: dict = {"revision": revision, "job": job, "url": reverse("guides:circuit", args=[kit, letter])}
    context["open_all"] = request.GET.get("show") == "all"
    if figures:
        lines = stress_lines(figures.detail["stresses"])
        context |= {
            "figures": figures,
            "stages": compare_stages(revision, guide, figures.detail),
            "stresses": [line for line in lines if not line.is_slight],
            "slight": [line for line in lines if line.is_slight],
            "over": [line for line in lines if line.over],
            "beyond": [line for line in lines if line.is_unsupported],
            "circumstances": [circumstance_label(name) for name in list_circumstances(figures.detail["stresses"])],
            "assumed": [_assumed(row) for row in figures.detail.get("assumed", [])],
            "assumed_figures": [_assumed_figure(row) for row in figures.detail.get("assumed_figures", [])],
            "responses": [_response(row, guide) for row in figures.detail.get("responses", [])],
            "inrush": figures.detail.get("inrush", []),
            "no_stresses": remark_sentence(figures.detail.get("no_stresses")),
            "unrated": figures.detail.get("unrated", []),
            "slow": slowest_sentence(slow_rows(figures.detail)),
            "problems": [remark_sentence(row) for row in figures.detail["problems"]],
        }
    return render(request, "guides/_circuit.html" if request.htmx else "guides/circuit.html", context)


def _response(row: dict, guide) -> dict:
    """A response with its figures as they are shown."""
    place = {end: guide.probes.probe(row[end]).location for end in ("red", "black", "into")}
    low_3, low_1, high_1, high_3 = (f and format_figure(f, "Hz") for f in row["corners"])
    shown = {"low_3": low_3, "low_1": low_1, "high_1": high_1, "high_3": high_3}
    ohms = {name: format_figure(row[name], "Ω") for name in ("input_ohms", "output_ohms")}
    clip = row["clipping"]
    limit = {"level": format_figure(clip["input_volts"], "V"), "ref": clip["ref"]} if clip else None
    volts = row["output_volts"] and format_figure(row["output_volts"], "V")
    load = row["load_ohms"] and format_figure(row["load_ohms"], "Ω")
    return {**row, **place, **shown, **ohms, "load": load, "limit": limit, "output_volts": volts}


def _assumed(row: dict) -> dict:
    return {"label": assumed_label(row["of"]), "range": assumed_range(row), "refs": row["refs"]}


def _assumed_figure(row: dict) -> dict:
    return {"label": assumed_figure_label(row["of"]), "value": row["value"], "unit": row["unit"], "refs": row["refs"]}


@may_design
@require_safe
def of_one(request, kit, letter, pk):
    """The circuit's say on one check of a draft, for the editor: asked for where it is not there, and its progress till
    it is."""
    draft = access.draft_revision(request.user, kit, letter)
    check = get_object_or_404(Check.objects.select_related("stage__revision"), stage__revision=draft, pk=pk)
    if not request.htmx:
        return redirect("guides:edit-inner", kit, letter, check.stage.key, "check", pk)
    figures, job = figures_or_job(draft)
    return render(
        request,
        "guides/_model.html",
        {
            "revision": draft,
            "check": check,
            "figures": figures,
            "take_version": shown_version(find_version("check", check), figures),
            "job": job,
            "url": reverse("guides:circuit", args=[kit, letter]),
            "model": compare_check(check, figures.detail if figures else None),
        },
    )


@may_design
@require_POST
@limited("compute")
def again(request, kit, letter):
    """Begin a computation that failed or lost its worker once more."""
    revision = access.designers_revision(request.user, kit, letter)
    key = key_for(revision)
    if not saved_figures(revision):
        queue.start(KIND, key, revision.pk, key, restart=True)
    return redirect("guides:circuit", kit, letter)


@may_design
@require_POST
def take(request, kit, letter, pk):
    """Give a check of a draft the model's figure: left to the model, or as numbers that stay."""
    draft = access.draft_revision(request.user, kit, letter)
    check = get_object_or_404(Check.objects.select_related("stage__revision"), stage__revision=draft, pk=pk)
    ways = {"model": as_model, "numbers": as_numbers, "prototype": as_prototype}
    if request.POST.get("as") not in ways:
        raise Http404("A figure is taken as the model's or as numbers.")
    way = ways[request.POST["as"]]
    with one_edit(draft, request.user, "figure", check.title) as tables:
        check.refresh_from_db()  # as it is now that nobody else can edit
        version = shown_version(find_version("check", check), saved_figures(draft))
        is_as_seen = version == request.POST.get("version", "")
        if is_as_seen:
            taken = way(check)
    if not is_as_seen:
        context = {"revision": draft, "check": check, "way": request.POST["as"], "version": version}
        context["differences"] = _would_change(draft, tables, way, check)
        return render(request, "guides/take-figure.html", context, status=409)
    (messages.success if taken.is_done else messages.error)(request, taken.sentence)
    return redirect("guides:edit-inner", kit, letter, check.stage.key, "check", check.pk)


def _would_change(draft, tables: dict, way, check) -> list:
    """What taking the figure would change in the check as it is by now; nothing is saved."""
    with transaction.atomic():
        way(check)
        after = as_tables(draft)
        transaction.set_rollback(True)
    check.refresh_from_db()
    return by_figure(table_differences(tables, after))
