"""Deciding on findings and snags; what changed and why; whether it worked."""
from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from builds.accounts.access import may_design
from builds.bench.models import Snag
from builds.guides.access import designers_revision
from builds.guides.guide_file.compare import differences
from builds.guides.models import Check
from builds.review.dependences import Circumstances, by_check, of_revision
from builds.review.forms import DecisionForm
from builds.review.loop import decide
from builds.review.loop.open_findings import open_findings
from builds.review.loop.proof import change_proofs, stage_proofs

ASIDE = ("rejected", "deferred")


@may_design
@require_GET
def findings(request, kit, letter):
    """Everything there is to decide on in a revision, with what is proposed and what was decided."""
    revision = designers_revision(request.user, kit, letter)
    decided = {d.snag_id: d for d in revision.decisions.exclude(snag=None).select_related("draft")}
    snags = [(snag, decided.get(snag.pk)) for snag in Snag.objects.own().filter(build__revision=revision).select_related(
        "build", "stage", "step", "check_row")]
    return _page(request, revision, open_findings(revision), snags)


def _page(request, revision, rows, snags, status=200, wrong=None):
    return render(request, "review/findings.html", {
        "revision": revision, "findings": rows,
        "leanings": by_check(of_revision(revision, Circumstances(revision))), "snags": snags, "wrong": wrong,
        "draft": revision.clones.filter(state="draft").first()}, status=status)


@may_design
@require_POST
def decide_check(request, kit, letter, pk):
    revision = designers_revision(request.user, kit, letter)
    check = get_object_or_404(Check.objects.select_related("stage"), stage__revision=revision, pk=pk)
    row = next((r for r in open_findings(revision) if r.check.pk == pk), None)
    told = {"finding": row.found.kind, "evidence": row.evidence} if row else {}

    def accept(typed):
        figures = {name: typed[name] for name in ("expected", "low", "high")}
        return decide.accept_check(revision, check, figures, reason=typed["reason"], by=request.user, **told)
    return _decide(request, revision, f"check-{pk}", accept, check=check, **told)


@may_design
@require_POST
def decide_snag(request, kit, letter, pk):
    revision = designers_revision(request.user, kit, letter)
    snag = get_object_or_404(Snag.objects.select_related("stage", "step"), build__revision=revision, pk=pk)

    def accept(typed):
        return decide.accept_snag(revision, snag, typed["text"], reason=typed["reason"], by=request.user)
    return _decide(request, revision, f"snag-{pk}", accept, snag=snag)


def _decide(request, revision, anchor, accept, **target):
    """Carry one decision out, or come back to the page with what was typed and why it was refused."""
    state = request.POST.get("state")
    if state not in ("accepted", *ASIDE):
        raise Http404("A finding is accepted, rejected or put off.")
    form = DecisionForm(request.POST)
    try:
        if not form.is_valid():
            raise decide.Refused(form.wrong())
        if state == "accepted":
            made = accept(form.cleaned_data)
            messages.success(request, f"Accepted: written into draft {made.draft.letter}.")
        else:
            decide.put_aside(revision, state, reason=form.cleaned_data["reason"], by=request.user, **target)
            messages.success(request, "Noted, with your reason.")
    except decide.Refused as error:
        decided = {d.snag_id: d for d in revision.decisions.exclude(snag=None)}
        snags = [(s, decided.get(s.pk)) for s in Snag.objects.own().filter(build__revision=revision).select_related(
            "build", "stage", "step", "check_row")]
        return _page(request, revision, open_findings(revision), snags, 422,
                     {"anchor": anchor, "words": str(error), "typed": request.POST, **target})
    return redirect(f"{_address(revision)}#{anchor}")


def _address(revision) -> str:
    from django.urls import reverse

    return reverse("review:findings", args=[revision.kit.key, revision.letter])


@may_design
@require_GET
def changes(request, kit, letter):
    """What changed from the revision before, why, on what evidence, and, once it is built from, whether it worked."""
    revision = designers_revision(request.user, kit, letter)
    before = revision.cloned_from
    proofs = change_proofs(revision)
    told = {(edit["where"], edit["field"]) for p in proofs for edit in p.decision.edits}
    others = [d for d in differences(before, revision) if not _told(d, told)] if before else []
    return render(request, "review/changes.html", {
        "revision": revision, "before": before, "proofs": proofs, "others": others,
        "stages": stage_proofs(before, revision) if before else [],
        "errata": before.errata.filter(withdrawn_at=None).select_related("stage", "step", "check_row", "part") if before else [],
        "aside": before.decisions.filter(state__in=ASIDE).select_related("check_row", "snag") if before else []})


def _told(difference, told) -> bool:
    """Is a difference the work of a decision already listed? Rows are named by key there, by title here."""
    return any(field == difference.key and difference.where.rpartition(" ")[2] in where.replace("step ", "") or
               field == difference.key and field in ("expected", "low", "high", "band", "at_least", "at_most") for where, field in told)
