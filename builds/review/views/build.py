"""One build's whole history; making builds and their invitations; concessions."""

from datetime import timedelta

import segno
from django.contrib import messages
from django.db import IntegrityError, transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.accounts.models import Invitation
from builds.bench import access
from builds.bench.charts import chart
from builds.bench.gates import gating
from builds.bench.models import Build
from builds.bench.readings.derived import derived_of
from builds.guides.access import designers_revision
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check, Revision
from builds.review.forms import ConcessionForm, NewBuildForm
from builds.review.medians import medians
from builds.review.views.moves import later_revisions

PASSWORD_LIFE = timedelta(days=2)


@may_design
@require_GET
def build(request, pk):
    row = access.designers_build(request.user, pk)
    return render(
        request,
        "review/build.html",
        {
            "build": row,
            "revision": row.revision,
            "states": gating.stage_states(row),
            "history": _history(row),
            "held": row.statuses.filter(passed=False).select_related("check_row__stage", "latest"),
            "concessions": row.concessions.select_related("check_row", "by"),
            "photos": row.photos.all(),
            "concession_form": ConcessionForm(),
            "trims": row.meter_checks.select_related("part", "meter"),
            "derived": _derived(row),
            **_moves(row),
        },
    )


def _moves(row) -> dict:
    """Where a build moved from and to, and where it could."""
    ended = row.finished_at or row.given_up_at
    related = Build.objects.select_related("revision__kit")
    return {
        "later": [] if ended else later_revisions(row),
        "source": related.filter(moved_to__build=row).first(),
        "goes_on": related.filter(moved_from__source=row).first(),
        "carried": row.carried.exclude(check_row=None),
    }


def _derived(row) -> list:
    """Stage by stage, what the readings of the powered stages say together."""
    guide = load_guide(row.revision)
    statuses = {s.check_row_id: s for s in row.statuses.select_related("latest")}
    found = [
        (stage, derived_of(guide, [(c, statuses.get(c.pk)) for c in stage.checks.all()]))
        for stage in guide.stages
        if stage.is_powered
    ]
    return [(stage, rows) for stage, rows in found if rows]


def _history(row) -> list:
    """Everything that happened to a build, latest first: (when, kind, thing)."""
    happened = [(r.at, "reading", r) for r in row.readings.select_related("check_row__stage")]
    happened += [(s.at, "snag", s) for s in row.snags.select_related("stage", "check_row")]
    happened += [(m.at, "made safe", m) for m in row.made_safes.all()]
    happened += [(e.at, "extra reading", e) for e in row.extra_readings.all()]
    happened += [(c.at, "concession", c) for c in row.concessions.select_related("check_row", "by")]
    happened += [(t.at, "step ticked", t) for t in row.ticks.select_related("step__stage")]
    happened += [(p.at, "photo", p) for p in row.photos.select_related("stage")]
    happened += [(v.done_at, "stage done", v) for v in row.visits.exclude(done_at=None).select_related("stage")]
    return sorted(happened, key=lambda h: h[0], reverse=True)


@may_design
@require_GET
def charts(request, pk, kind):
    row = access.designers_build(request.user, pk)
    kind = kind if kind == "resistance" else "voltage"
    return render(
        request,
        "review/charts.html",
        {"build": row, "kind": kind, "charts": chart(row, kind, medians(row.revision)), "medians": True},
    )


@may_design
@require_POST
def concede(request, pk, check):
    row = access.designers_build(request.user, pk)
    found = get_object_or_404(Check, stage__revision=row.revision, pk=check)
    form = ConcessionForm(request.POST)
    if not form.is_valid():
        messages.error(request, "A concession needs its reason in writing.")
    elif row.statuses.filter(check_row=found, outcome="switch off").exists():
        messages.error(request, "A reading that said switch off cannot be conceded. It needs a good re-take.")
    else:
        gating.concede(row, found, by=request.user, reason=form.cleaned_data["reason"])
        messages.success(request, f"Conceded: {found.title}.")
    return redirect("review:build", row.pk)


@may_design
@require_http_methods(["GET", "POST"])
def builds(request, kit, letter):
    """The builds of a revision, and making one; the new link is shown once, on the page that made it."""
    revision = designers_revision(request.user, kit, letter)
    form = NewBuildForm(request.POST or None, revision=revision)
    link, made = "", None
    if request.method == "POST" and form.is_valid():
        if revision.state != Revision.State.ISSUED:
            form.add_error("serial", "Builds are made from an issued revision; issue this one first.")
        else:
            try:
                made, link = _make(request, revision, form.cleaned_data["serial"])
            except IntegrityError:  # a double tap: the first tap made it
                form.add_error("serial", "This revision has a build of that serial number.")
    status = 422 if form.is_bound and form.errors else 200
    return render(
        request,
        "review/builds.html",
        {
            "revision": revision,
            "form": NewBuildForm(revision=revision) if made else form,
            "made": made,
            "link": link,
            "qr": qr_svg(link) if link else "",
            "builds": revision.builds.select_related("builder", "invitation"),
            "now": timezone.now(),
        },
        status=status,
    )


@transaction.atomic
def _make(request, revision, serial):
    invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=request.user)
    row = Build.objects.create(
        revision=revision,
        serial=serial,
        invitation=invitation,
        mains_volts=revision.mains_volts,
        mains_hertz=revision.mains_hertz,
    )
    return row, _link(request, token)


def _link(request, token) -> str:
    return request.build_absolute_uri(reverse("accounts:invitation", args=[token]))


def qr_svg(link: str) -> str:
    """A QR code as inline SVG with classes only, as the page's content policy asks."""
    return mark_safe(
        segno.make(link, error="m").svg_inline(
            scale=4,
            border=2,
            svgclass="qr",
            lineclass="qr-line",  # noqa: S308
            omitsize=True,
        )
    )


@may_design
@require_POST
def renew(request, pk):
    """Take back a build's invitation and make a new link; for a build taken on, a link for a new password."""
    row = access.designers_build(request.user, pk)
    if row.builder:
        if _designs(row.builder) and row.builder != request.user:
            # The link opens all that the person sees, other designers' kits too.
            messages.error(request, f"{row.builder} also designs kits, and asks for a new password by e-mail.")
            return redirect("review:builds", row.revision.kit.key, row.revision.letter)
        Invitation.objects.usable().filter(person=row.builder, purpose=Invitation.Purpose.PASSWORD).update(
            revoked_at=timezone.now()
        )
        made, token = Invitation.make(
            Invitation.Purpose.PASSWORD, made_by=request.user, person=row.builder, life=PASSWORD_LIFE
        )
    else:
        with transaction.atomic():
            if row.invitation:
                Invitation.objects.filter(pk=row.invitation_id).update(revoked_at=timezone.now())
            made, token = Invitation.make(Invitation.Purpose.BUILD, made_by=request.user)
            row.invitation = made
            row.save(update_fields=["invitation"])
    link = _link(request, token)
    return render(
        request,
        "review/link.html",
        {
            "build": row,
            "revision": row.revision,
            "link": link,
            "qr": qr_svg(link),
            "password": made.purpose == Invitation.Purpose.PASSWORD,
        },
    )


def _designs(person) -> bool:
    return person.may_design or person.kits.exists()


@may_design
@require_POST
def revoke(request, pk):
    row = access.designers_build(request.user, pk)
    if row.invitation_id:
        Invitation.objects.filter(pk=row.invitation_id, used_at=None).update(revoked_at=timezone.now())
        messages.success(request, "The invitation is withdrawn; its link no longer works.")
    return redirect("review:builds", row.revision.kit.key, row.revision.letter)
