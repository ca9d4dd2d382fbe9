"""The builds of a revision, their invitations, and the whole history of one."""
from django.contrib import messages
from django.db import IntegrityError, transaction
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.bench.gates import concede as give_concession
from builds.bench.gates import stage_states
from builds.review import access, invitations
from builds.review.figures import MISSED
from builds.review.forms import BuildForm, ConcessionForm
from builds.review.history import history


@may_design
@never_cache
@require_http_methods(["GET", "POST"])
def builds(request, kit, letter):
    """The list, and the form that makes one more. The link is shown in the answer and never again."""
    revision = access.revision_of(request.user, kit, letter)
    form = BuildForm(request.POST or None, revision=revision)
    if request.method == "POST" and form.is_valid():
        try:
            with transaction.atomic():
                build, token = invitations.make_build(revision, form.cleaned_data["serial"], by=request.user)
            return _link_page(request, build, token, "invitation")
        except invitations.InvitationError as error:
            form.add_error(None, str(error))
        except IntegrityError:  # a double tap: the first one made it
            form.add_error("serial", "This revision has a build with that serial number.")
    rows = [(b, invitations.state_words(b)) for b in revision.builds.select_related("builder", "invitation")]
    return render(request, "review/builds.html", {"revision": revision, "rows": rows, "form": form},
                  status=422 if request.method == "POST" else 200)


@may_design
@never_cache
@require_POST
def renew(request, kit, letter, pk):
    return _answer_link(request, kit, letter, pk, invitations.renew, "invitation")


@may_design
@never_cache
@require_POST
def password(request, kit, letter, pk):
    return _answer_link(request, kit, letter, pk, invitations.password_link, "password")


@may_design
@require_POST
def revoke(request, kit, letter, pk):
    build = access.build_of(access.revision_of(request.user, kit, letter), pk)
    if invitations.revoke(build):
        messages.success(request, f"The link of build {build.serial} no longer works.")
    else:
        messages.warning(request, f"Build {build.serial} has no link that still works.")
    return redirect("review:builds", kit, letter)


@may_design
@require_GET
def build(request, kit, letter, pk):
    revision = access.revision_of(request.user, kit, letter)
    return _build_page(request, access.build_of(revision, pk), ConcessionForm())


@may_design
@require_POST
def concede(request, kit, letter, pk, stage, key):
    revision = access.revision_of(request.user, kit, letter)
    row = access.build_of(revision, pk)
    check = access.check_of(revision, stage, key)
    form = ConcessionForm(request.POST)
    if not form.is_valid():
        return _build_page(request, row, form, refused=check.pk, status=422)
    standing = row.standings.filter(check_row=check).first()
    if standing is None or standing.outcome == "switch off":
        messages.error(request, f"“{check.title}” cannot be conceded: "
                                + ("it has no reading yet." if standing is None else
                                   "its latest reading says switch off. It needs a good re-take."))
    else:
        give_concession(row, check, by=request.user, reason=form.cleaned_data["reason"])
        messages.success(request, f"Conceded “{check.title}”. The builder reads your reason.")
    return redirect("review:build", kit, letter, pk)


def _build_page(request, build, form, refused=None, status=200):
    standings = list(build.standings.filter(passed=False).select_related("check_row__stage", "latest")
                     .order_by("check_row__stage__position", "check_row__position"))
    return render(request, "review/build.html", {
        "revision": build.revision, "build": build, "states": stage_states(build), "events": history(build),
        "waiting": [s for s in standings if s.outcome != "switch off"],
        "stopped": [s for s in standings if s.outcome == "switch off"],
        "missed_words": MISSED, "form": form, "refused": refused}, status=status)


def _answer_link(request, kit, letter, pk, make, purpose):
    build = access.build_of(access.revision_of(request.user, kit, letter), pk)
    try:
        return _link_page(request, build, make(build, by=request.user), purpose)
    except invitations.InvitationError as error:
        messages.error(request, str(error))
        return redirect("review:builds", kit, letter)


def _link_page(request, build, token, purpose):
    address = request.build_absolute_uri(reverse("accounts:invitation", args=[token]))
    return render(request, "review/link.html", {
        "revision": build.revision, "build": build, "address": address, "qr": invitations.qr_svg(address),
        "token": token, "is_password": purpose == "password"})
