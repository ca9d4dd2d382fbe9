"""Checks of a draft: proposed from the circuit, and edited as one grid."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.guides import access
from builds.guides.check_signals import signal_label
from builds.guides.control_settings import setting_label
from builds.guides.editor import checks_grid
from builds.guides.editor.edits import row_version
from builds.guides.editor.wiring_table import circuit_overview
from builds.guides.figures import NOTHING, model_limits
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.write import as_tables
from builds.guides.models import MEASURES
from builds.guides.proposals.add import Refused, apply_ticked
from builds.guides.proposals.display import changes_by_stage
from builds.guides.proposals.kept import changes_for, circuit_version, proposals_for, ranked_for
from builds.ui.messages.circuit import remark_sentence
from builds.ui.messages.parts_list import circuit_message
from builds.ui.messages.quantities import measure_label


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def proposals(request, kit, letter):
    """What the circuit proposes, ticked to be added at once, and what it would change of the checks that are there."""
    draft = access.draft_revision(request.user, kit, letter)
    refused, ticked = [], None
    if request.method == "POST":
        ticked = set(request.POST.getlist("add")), set(request.POST.getlist("change"))
        try:
            seen = request.POST.get("version", "")
            _report_applied(request, *apply_ticked(draft, request.user, *ticked, seen=seen))
            return redirect("guides:revision", kit, letter)
        except Refused as error:
            refused = error.args[0]
    tables = as_tables(draft)
    by_faults = "rank" in request.GET
    proposal_set = ranked_for(tables) if by_faults else proposals_for(tables)
    context = {
        "revision": draft,
        "found": proposal_set,
        "version": circuit_version(tables),
        "by_faults": by_faults,
        "refused": refused,
        "error": circuit_message(proposal_set.error) if proposal_set.error else "",
        "stages": _by_stage(proposal_set, by_faults, load_guide(draft).probes, ticked[0] if ticked else None),
        "changes": changes_by_stage(tables["stage"], changes_for(tables)),
        "unread": [(title, remark_sentence(why.as_dict())) for title, why in proposal_set.unread],
        "unwired": circuit_overview(draft)["unwired"],
    }
    return render(request, "guides/proposals.html", context, status=422 if refused else 200)


def _report_applied(request, added: int, changed: int) -> None:
    if added or not changed:
        done = ngettext("Added %(n)d check.", "Added %(n)d checks.", added) % {"n": added}
        messages.success(request, done)
    if changed:
        done = ngettext("Made %(n)d change to checks.", "Made %(n)d changes to checks.", changed) % {"n": changed}
        messages.success(request, done)


def _by_stage(proposal_set, by_faults: bool, probes, posted: set[str] | None) -> list[dict]:
    """The proposals stage by stage; after a refusal with the ticks that were posted."""
    added = {stage["key"] for stage in proposal_set.added}
    rows = []
    for stage in proposal_set.stages:
        mine = [p for p in proposal_set.proposals if p.stage == stage["key"]]
        if by_faults:
            mine.sort(key=lambda p: p.rank or 999)
        lines = [_line(p, by_faults, probes, posted) for p in mine]
        if lines:
            controls = [setting_label(ref, share) for ref, share in (stage.get("settings") or {}).items()]
            rows.append({"stage": stage, "is_new": stage["key"] in added, "lines": lines, "controls": controls})
    return rows


def _line(p, by_faults: bool, probes, posted: set[str] | None) -> dict:
    under = signal_label(p.row.get("signal"), probes)
    tick = _ticked(p, by_faults) if posted is None else p.name in posted
    low, high = model_limits({"low": p.low, "high": p.high}, p.unit) if p.unit in NOTHING else (p.low, p.high)
    line = {"p": p, "measure": measure_label(p.row["measure"]), "tick": tick, "signal": under}
    return line | {"low": low, "high": high, "is_zero": low < 0 < high}


def _ticked(proposal, by_faults: bool) -> bool:
    """All of them; by faults only heaters, rails, and what shows a fault that nothing before it shows."""
    if not by_faults:
        return not proposal.is_there
    is_first = not proposal.is_signal and not proposal.row["red"][:1].isupper()
    return not proposal.is_there and (proposal.shows > 0 or is_first)


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def grid(request, kit, letter):
    draft = access.draft_revision(request.user, kit, letter)
    state, posted = checks_grid.GridState(), None
    if request.method == "POST":
        state, posted = checks_grid.save_grid(draft, request.user, request.POST)
        if state.is_good:
            messages.success(request, state.saved_sentence)
            return redirect("guides:checks-grid", kit, letter)
    guide = load_guide(draft)
    tables = as_tables(draft, guide)
    standing = checks_grid.present_errors(tables, frozenset(guide.pictures)) if posted is None else {}
    context = {
        "revision": draft,
        "state": state,
        "rows": _grid_rows(tables, posted, state, standing),
        "measures": [(m, measure_label(m)) for m in MEASURES],
        "places": sorted(_places(draft)),
    }
    return render(request, "guides/checks-grid.html", context, status=422 if posted is not None else 200)


def _places(draft) -> set[str]:
    overview = circuit_overview(draft)
    ends = {end.address for _point, ends in overview["points"] for end in ends if end.pin}
    return ends | {point for point, _ends in overview["points"]}


def _grid_rows(tables: dict, posted, state, standing: dict) -> list[dict]:
    """A line for each check with its stage's title; what was posted stands in its cells, what is wrong beside."""
    posted_rows = {row.was: row for row in posted or []}
    rows: list[dict] = []
    for stage in tables["stage"]:
        for check in stage.get("check", []):
            name = checks_grid.make_name(stage, check)
            line = _grid_row(len(rows), stage, name, checks_grid.list_cells(check), posted_rows.get(name), state)
            for cell in line["cells"]:
                cell["errors"] = cell["errors"] or standing.get(name, {}).get(cell["name"], [])
            rows.append(line)
    return rows


def _grid_row(n: int, stage: dict, name: str, saved: dict, row, state) -> dict:
    clash = state.clashes.get(row.number, []) if row else []
    version = row.version if row and not clash else row_version(saved)
    errors = state.errors.get(row.number, {}) if row else {}
    cells = row.cells if row else saved
    return {
        "number": n,
        "was": name,
        "version": version,
        "stage": stage["title"],
        "is_gone": bool(row and row.is_gone),
        "clashes": clash,
        "cells": [{"name": key, "value": cell, "errors": errors.get(key, [])} for key, cell in cells.items()],
    }
