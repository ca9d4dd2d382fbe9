"""The circuit of a draft without its text: wiring as a table, a pasted list of wires, and building blocks."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.accounts.access import may_design
from builds.guides import access
from builds.guides.blocks import BLOCKS
from builds.guides.editor import block_form
from builds.guides.editor.wiring_table import Wiring, circuit_overview, posted_ends, save_list, save_table, table_rows
from builds.guides.guide_file.write import as_tables
from builds.guides.wiring.drawn import build_schematic
from builds.ui.drawings.schematic import build_drawing


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def wiring(request, kit, letter):
    """Each end of each part with the point that it joins."""
    draft = access.draft_revision(request.user, kit, letter)
    state, typed = Wiring(), {}
    if request.method == "POST":
        posted = posted_ends(request.POST)
        typed = {name: to for name, _was, to in posted}
        state = save_table(draft, request.user, posted)
        if state.is_good:
            _report_saved(request, state, _("Saved the wiring."))
            return redirect("guides:wiring", kit, letter)
    return _page(request, draft, state, typed, "")


@may_design
@require_POST
def wire_list(request, kit, letter):
    draft = access.draft_revision(request.user, kit, letter)
    text = request.POST.get("wires", "")
    state = save_list(draft, request.user, text)
    if state.is_good:
        _report_saved(request, state, _("Added the wires."))
        return redirect("guides:wiring", kit, letter)
    return _page(request, draft, state, {}, text)


def _report_saved(request, state: Wiring, done: str) -> None:
    messages.success(request, done)
    for old, new in state.renamed.items():
        messages.info(request, _("%(old)s is now %(new)s, in the checks too.") % {"old": old, "new": new})
    for sentence in state.stranded:
        messages.warning(request, sentence)


def _page(request, draft, state, typed, text):
    overview = circuit_overview(draft)
    points = sorted({point for point, _ends in overview["points"]} | {"chassis"})
    rows = table_rows(overview["parts"], typed, state.errors)
    return render(
        request,
        "guides/wiring.html",
        {
            "revision": draft,
            "state": state,
            "rows": rows,
            "list_errors": [(n, message) for n, message in state.errors.items() if isinstance(n, int)],
            "text": text,
            "places": [*points, *(row.end.address for row in rows)],
            "drawing": build_drawing(build_schematic(overview["parts"])),
            **overview,
        },
        status=422 if request.method == "POST" else 200,
    )


@may_design
@require_safe
def blocks(request, kit, letter):
    draft = access.draft_revision(request.user, kit, letter)
    return render(
        request, "guides/blocks.html", {"revision": draft, "blocks": BLOCKS.values()} | circuit_overview(draft)
    )


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def block(request, kit, letter, key):
    draft = access.draft_revision(request.user, kit, letter)
    if key not in BLOCKS:
        raise Http404(_("There is no such building block."))
    errors = block_form.place(draft, request.user, key, request.POST) if request.method == "POST" else {}
    if request.method == "POST" and not errors:
        messages.success(request, _("Placed: %(block)s.") % {"block": BLOCKS[key].title})
        return redirect("guides:blocks", kit, letter)
    parts = as_tables(draft)["part"]
    roles, asks = block_form.list_lines(BLOCKS[key], parts, request.POST or None, errors)
    return render(
        request,
        "guides/block.html",
        {
            "revision": draft,
            "version": block_form.parts_version(parts),
            "chosen": BLOCKS[key],  # "block" is a word of the templates themselves
            "roles": roles,
            "asks": asks,
            "general": errors.get("", ""),
            "has_errors": bool(errors),
            "refs": [row["ref"] for row in parts],
            "places": sorted({point for point, _ends in circuit_overview(draft)["points"]}),
        },
        status=422 if errors else 200,
    )
