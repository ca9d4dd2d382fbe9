"""Findings and snags to decide on: accept a change, reject it, or defer it."""

from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design
from builds.bench.models import Snag
from builds.guides.access import designers_revision
from builds.guides.models import Check
from builds.review.changes import decide
from builds.review.changes.drafts import find_base
from builds.review.changes.offers import Offers
from builds.review.changes.open_findings import Group, open_findings
from builds.review.changes.targets import Target, find_target, target_of_snag
from builds.review.correlations import by_check, checks_with_same_cause
from builds.review.correlations_cache import list_correlations
from builds.review.forms import DecisionForm
from builds.review.problems.state import UNDECIDED, with_decision_state, with_snag_state
from builds.review.queries import list_checks
from builds.review.read_counts import read_counts
from builds.ui.paging import Pages, count_pages, page_number

ASIDE = ("rejected", "deferred")
CHECKS_A_PAGE, SNAGS_A_PAGE = 30, 60  # each with its form
SNAG_ROWS = ("stage", "step__stage", "check_row__stage", "part")


@may_design
@require_safe
def findings(request, kit, letter):
    """Everything there is to decide on in a revision, with what is proposed and what was decided."""
    return _page(request, designers_revision(request.user, kit, letter))


def _page(request, revision, status=200, refused=None):
    """`refused`: a refused decision, as anchor, message, the form's data and its check or snag."""
    base, refused, counts = find_base(revision), refused or {}, read_counts(list_checks(revision))
    correlations = list_correlations(revision, counts=counts)
    offers, reworded = Offers(base), request.GET.get("words", "")
    every = sorted(open_findings(revision, counts), key=lambda row: list(Group).index(row.group))
    asked_checks = _asked_check(request, refused)
    pages = _pages_of_checks(request, every, asked_checks)
    rows = [(row, *_check_offers(offers, row, refused, reworded)) for row in pages.of(every)]
    page = find_page(revision, refused["snag"]) if refused.get("snag") else page_number(request, "snags")
    snags = _snags_of_page(revision, page)
    if page > 1 and not snags:  # past the last one
        page = count_pages(_snags(revision).count(), SNAGS_A_PAGE)
        snags = _snags_of_page(revision, page)
    return render(
        request,
        "review/findings.html",
        {
            "revision": revision,
            "groups": _groups(rows, asked_checks),
            "refused": refused,
            "base": base,
            "pages": pages,
            "correlations": by_check(correlations),
            "same_cause": checks_with_same_cause(correlations),
            "snag_groups": _snag_groups(_snag_offers(revision, snags[:SNAGS_A_PAGE], offers, refused), refused),
            "newer": f"?snags={page - 1}" if page > 1 else "",
            "older": f"?snags={page + 1}" if len(snags) > SNAGS_A_PAGE else "",
            "draft": base if base.is_draft else None,
            "last": base.cloned_from if base.is_draft else base,
        },
        status=status,
    )


def _snags(revision):
    return Snag.objects.own().filter(build__revision=revision).order_by("-at", "-pk")


def _snags_of_page(revision, page: int) -> list:
    """And one more, where another page follows."""
    rows = _snags(revision).select_related("build", *SNAG_ROWS)
    return list(with_snag_state(rows[(page - 1) * SNAGS_A_PAGE : page * SNAGS_A_PAGE + 1]))


def find_page(revision, snag) -> int:
    """The page of the findings that a snag is on: the latest come first."""
    return _snags(revision).filter(Q(at__gt=snag.at) | Q(at=snag.at, pk__gt=snag.pk)).count() // SNAGS_A_PAGE + 1


def _asked_check(request, refused) -> set:
    """The check asked for, as text: of a decision refused, of a link, of one to reword."""
    return {str(refused["check"].pk)} if refused.get("check") else {request.GET.get(n) for n in ("check", "words")}


def _pages_of_checks(request, rows, asked_checks) -> Pages:
    """At the page asked for, or at that of the check asked for."""
    place = next((n for n, row in enumerate(rows) if str(row.check.pk) in asked_checks), None)
    number = page_number(request) if place is None else place // CHECKS_A_PAGE + 1
    return Pages(number, len(rows), CHECKS_A_PAGE)


def _groups(rows, asked_checks) -> list[tuple]:
    """[(code, title, rows, whether a phone shows them unfolded)]; groups without rows are left out."""
    titles = {
        Group.TO_DECIDE: _("To decide"),
        Group.SINGLE_BUILDS: _("Faults of individual builds: nothing to change in the guide"),
        Group.DECIDED: _("Decided"),
    }
    groups = {code: [row for row in rows if row[0].group == code] for code in Group}
    return [
        (
            code.value,
            titles[code],
            own,
            code is Group.TO_DECIDE or any(str(row[0].check.pk) in asked_checks for row in own),
        )
        for code, own in groups.items()
        if own
    ]


def _snag_groups(offers, refused) -> list[tuple]:
    """The same of snags: those that wait for the designer first."""
    waiting = [row for row in offers if row[0].problem_state in UNDECIDED]
    decided = [row for row in offers if row[0].problem_state not in UNDECIDED]
    groups = [("snags", _("Snags to decide"), waiting), ("decided-snags", _("Decided snags"), decided)]
    return [
        (code, title, rows, code == "snags" or any(row[0] == refused.get("snag") for row in rows))
        for code, title, rows in groups
        if rows
    ]


def _check_offers(offers, row, refused, reworded: str):
    """The check's own fields, and its stage's steps where builders found them unclear or the designer asks for them."""
    typed = refused.get("typed") if refused.get("check") == row.check else None
    has_step_edits = (
        row.finding.kind == "step unclear"
        or reworded == str(row.check.pk)
        or (typed and any(name.startswith("step-") for name in typed))
    )
    proposed = row.figures if row.decision is None or row.decision.state != "accepted" else {}
    return (
        offers.of(find_target(row.check), str(row.check.pk), proposed, typed=typed),
        offers.list_steps(row.check.stage.key, str(row.check.pk), typed) if has_step_edits else [],
    )


def _snag_offers(revision, snags, offers, refused) -> list[tuple]:
    """[(snag, its decision or None, the fields it could change)]."""
    decided = {d.snag_id: d for d in with_decision_state(revision.decisions.exclude(snag=None)).select_related("draft")}
    return [
        (snag, decided.get(snag.pk), offers.of_snag(snag, refused["typed"] if refused.get("snag") == snag else None))
        for snag in snags
    ]


@may_design
@require_POST
def decide_check(request, kit, letter, pk):
    revision = designers_revision(request.user, kit, letter)
    check = get_object_or_404(Check.objects.select_related("stage"), stage__revision=revision, pk=pk)
    row = next((r for r in open_findings(revision) if r.check.pk == pk), None)
    evidence = {"finding": row.finding.kind, "basis": row.basis} if row else {}
    steps = {key: Target("step", check.stage.key, key) for key in _step_keys(request.POST)}
    form = DecisionForm(request.POST, steps=steps)

    def accept():
        target = find_target(check)
        edits = {target: form.sent(target.fields)}
        edits |= {step: {"text": form.cleaned_data[f"step-{key}"]} for key, step in steps.items()}
        return _accept(request, revision, edits, form, check=check, **evidence)

    return _decide(request, revision, f"check-{pk}", form, accept, check=check, **evidence)


def _accept(request, revision, edits, form, **target):
    """Write `edits` into the draft, if they are still what the person saw."""
    reason, seen = form.cleaned_data["reason"], _digests_sent(request.POST, edits)
    return decide.accept_change(revision, edits, reason=reason, by=request.user, seen=seen, **target)


def _step_keys(posted) -> list[str]:
    return [name.removeprefix("step-") for name in posted if name.startswith("step-")]


def _digests_sent(posted, edits) -> dict | None:
    """The digests that came with the form, by target; None where it came without."""
    sent = {target: posted[name] for target in edits if (name := f"seen-{target.kind}-{target.key}") in posted}
    return sent or None


@may_design
@require_POST
def decide_snag(request, kit, letter, pk):
    revision = designers_revision(request.user, kit, letter)
    snag = get_object_or_404(Snag.objects.select_related(*SNAG_ROWS), build__revision=revision, pk=pk)
    form = DecisionForm(request.POST)

    def accept():
        target = target_of_snag(snag)
        edits = {target: form.sent(target.fields)}
        return _accept(request, revision, edits, form, snag=snag, evidence=snag.words[:500])

    return _decide(request, revision, f"snag-{pk}", form, accept, snag=snag)


def _decide(request, revision, anchor, form, accept, **target):
    """Carry one decision out, or come back to the page with what was typed and why it was refused."""
    state = request.POST.get("state")
    if state not in ("accepted", *ASIDE):
        raise Http404("A finding is accepted, rejected or deferred.")
    try:
        if not form.is_valid():
            raise decide.Refused(form.wrong())
        if state == "accepted":
            messages.success(request, _accepted_message(revision, accept().draft))
        else:
            decide.decline_change(revision, state, reason=form.cleaned_data["reason"], by=request.user, **target)
            messages.success(request, _("Saved, with your reason."))
    except decide.Refused as error:
        refused = {"anchor": anchor, "message": str(error), "typed": request.POST, **target}
        return _page(request, revision, 422, refused)
    query = {"check": target["check"].pk} if "check" in target else {"snags": find_page(revision, target["snag"])}
    address = reverse("review:findings", args=[revision.kit.key, revision.letter])
    return redirect(f"{address}?{urlencode(query)}#{anchor}")


def _accepted_message(revision, draft) -> str:
    after = draft.cloned_from
    if after and after.pk != revision.pk:
        return _(
            "Accepted. The change is in draft %(draft)s, which follows %(letter)s, the newest issued revision."
        ) % {
            "draft": draft.letter,
            "letter": after.letter,
        }
    return _("Accepted. The change is in draft %(draft)s.") % {"draft": draft.letter}
