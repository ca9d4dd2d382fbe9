"""Deciding on findings and snags; what changed and why; whether it worked."""

from django.contrib import messages
from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from builds.accounts.access import may_design
from builds.bench.models import Snag
from builds.guides.access import designers_revision
from builds.guides.models import Check
from builds.review.changes import decide
from builds.review.changes.drafts import base_of, newest
from builds.review.changes.offers import Offers
from builds.review.changes.open_findings import open_findings
from builds.review.changes.proof import change_proofs, stage_proofs
from builds.review.changes.record import changes_of
from builds.review.changes.targets import Target, target_of, target_of_snag
from builds.review.dependences import Circumstances, by_check, of_revision
from builds.review.forms import DecisionForm

ASIDE = ("rejected", "deferred")
PAGE = 60  # snags with their forms on one page
SNAG_ROWS = ("stage", "step__stage", "check_row__stage", "part")


@may_design
@require_GET
def findings(request, kit, letter):
    """Everything there is to decide on in a revision, with what is proposed and what was decided."""
    return _page(request, designers_revision(request.user, kit, letter))


def _page(request, revision, status=200, wrong=None):
    """`wrong`: a refused decision, as anchor, words, the form's data and its check or snag."""
    base, wrong = base_of(revision), wrong or {}
    offers, words_for = Offers(base), request.GET.get("words", "")
    rows = [
        (row, *_offers_of(offers, row, wrong.get("typed") if wrong.get("check") == row.check else None, words_for))
        for row in open_findings(revision)
    ]
    decided = {d.snag_id: d for d in revision.decisions.exclude(snag=None).select_related("draft")}
    page = page_of(revision, wrong["snag"]) if wrong.get("snag") else _page_asked(request)
    snags = list(_snags(revision).select_related("build", *SNAG_ROWS)[(page - 1) * PAGE : page * PAGE + 1])
    return render(
        request,
        "review/findings.html",
        {
            "revision": revision,
            "findings": rows,
            "wrong": wrong,
            "base": base,
            "leanings": by_check(of_revision(revision, Circumstances(revision))),
            "snags": [
                (s, decided.get(s.pk), offers.of_snag(s, wrong["typed"] if wrong.get("snag") == s else None))
                for s in snags[:PAGE]
            ],
            "page": page,
            "more": len(snags) > PAGE,
            "draft": base if base.is_draft else None,
            "last": base.cloned_from if base.is_draft else base,
        },
        status=status,
    )


def _snags(revision):
    return Snag.objects.own().filter(build__revision=revision).order_by("-at", "-pk")


def _page_asked(request) -> int:
    typed = request.GET.get("page", "")
    return max(1, int(typed)) if typed.isdecimal() and len(typed) < 6 else 1


def page_of(revision, snag) -> int:
    """The page of the findings that a snag is on: the latest come first."""
    return _snags(revision).filter(Q(at__gt=snag.at) | Q(at=snag.at, pk__gt=snag.pk)).count() // PAGE + 1


def _offers_of(offers, row, typed, words_for):
    """The check's own fields, and its stage's steps where builders found them unclear or the designer asks for them."""
    wanted = (
        row.found.kind == "step unclear"
        or words_for == str(row.check.pk)
        or (typed and any(x.startswith("step-") for x in typed))
    )
    proposed = row.figures if row.decision is None or row.decision.state != "accepted" else {}
    return (
        offers.of(target_of(row.check), str(row.check.pk), proposed, typed=typed),
        offers.steps_of(row.check.stage.key, str(row.check.pk), typed) if wanted else [],
    )


@may_design
@require_POST
def decide_check(request, kit, letter, pk):
    revision = designers_revision(request.user, kit, letter)
    check = get_object_or_404(Check.objects.select_related("stage"), stage__revision=revision, pk=pk)
    row = next((r for r in open_findings(revision) if r.check.pk == pk), None)
    told = {"finding": row.found.kind, "evidence": row.evidence} if row else {}
    stage = check.stage.key
    steps = {key: Target("step", stage, key) for key in _step_keys(request.POST)}
    form = DecisionForm(request.POST, steps=steps)

    def accept():
        target = target_of(check)
        wanted = {target: form.sent(target.fields)}
        wanted |= {step: {"text": form.cleaned_data[f"step-{key}"]} for key, step in steps.items()}
        return decide.accept(
            revision,
            wanted,
            check=check,
            reason=form.cleaned_data["reason"],
            by=request.user,
            seen=_seen(request.POST, wanted),
            **told,
        )

    return _decide(request, revision, f"check-{pk}", form, accept, check=check, **told)


def _step_keys(posted) -> list[str]:
    return [name.removeprefix("step-") for name in posted if name.startswith("step-")]


def _seen(posted, wanted) -> dict | None:
    """The digests that came with the form, by target; None where it came without."""
    found = {target: posted[name] for target in wanted if (name := f"seen-{target.kind}-{target.key}") in posted}
    return found or None


@may_design
@require_POST
def decide_snag(request, kit, letter, pk):
    revision = designers_revision(request.user, kit, letter)
    snag = get_object_or_404(Snag.objects.select_related(*SNAG_ROWS), build__revision=revision, pk=pk)
    form = DecisionForm(request.POST)

    def accept():
        target = target_of_snag(snag)
        wanted = {target: form.sent(target.fields)}
        return decide.accept(
            revision,
            wanted,
            snag=snag,
            reason=form.cleaned_data["reason"],
            by=request.user,
            seen=_seen(request.POST, wanted),
            evidence=snag.words[:500],
        )

    return _decide(request, revision, f"snag-{pk}", form, accept, snag=snag)


def _decide(request, revision, anchor, form, accept, **target):
    """Carry one decision out, or come back to the page with what was typed and why it was refused."""
    state = request.POST.get("state")
    if state not in ("accepted", *ASIDE):
        raise Http404("A finding is accepted, rejected or put off.")
    try:
        if not form.is_valid():
            raise decide.Refused(form.wrong())
        if state == "accepted":
            messages.success(request, _accepted_words(revision, accept().draft))
        else:
            decide.put_aside(revision, state, reason=form.cleaned_data["reason"], by=request.user, **target)
            messages.success(request, "Noted, with your reason.")
    except decide.Refused as error:
        return _page(request, revision, 422, {"anchor": anchor, "words": str(error), "typed": request.POST, **target})
    page = page_of(revision, target["snag"]) if "snag" in target else 1
    findings_page = reverse("review:findings", args=[revision.kit.key, revision.letter])
    return redirect(f"{findings_page}{f'?page={page}' if page > 1 else ''}#{anchor}")


def _accepted_words(revision, draft) -> str:
    after = draft.cloned_from
    follows = f", which follows {after.letter}, the newest issued" if after and after.pk != revision.pk else ""
    return f"Accepted: written into draft {draft.letter}{follows}."


@may_design
@require_GET
def changes(request, kit, letter):
    """What changed from the revision before, why, on what evidence, and, once it is built from, whether it worked."""
    revision = designers_revision(request.user, kit, letter)
    before, listed = revision.cloned_from, changes_of(revision)
    proofs = {proof.decision.pk: proof for proof in change_proofs(revision)}
    last = newest(revision) if revision.is_draft else revision
    return render(
        request,
        "review/changes.html",
        {
            "revision": revision,
            "before": before,
            "listed": listed,
            "left_out": last if before and last.pk not in (before.pk, revision.pk) else None,
            "changes": [(change, proofs.get(change.decision)) for change in listed.changes],
            "stages": stage_proofs(before, revision) if before and not revision.is_draft else [],
        },
    )
