"""Invitations, passwords set by a link, meters, and the pages for errors."""

import sys
from typing import Any

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.views import redirect_to_login
from django.db import IntegrityError, transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.accounts import devices, forms, letters, not_saved, password_links, second_factor
from builds.accounts.access import anyone, signed_in
from builds.accounts.cautions import CAUTIONS
from builds.accounts.events import record
from builds.accounts.models import Invitation, Meter, Person
from builds.accounts.seen import remember_person
from builds.accounts.signing_in import PASSWORD_BACKEND
from builds.ui.messages.glossary import terms


@signed_in
@require_safe
def home(request):
    """Designers land on their kits, everybody else on their builds."""
    return redirect("guides:kits" if request.user.sees_kits else "bench:builds")


@anyone
@require_safe
def safety(request):
    cautions = [(key, *caution) for key, caution in CAUTIONS.items()]
    return render(request, "accounts/safety.html", {"cautions": cautions})


@anyone
@require_safe
def glossary(request):
    return render(request, "accounts/glossary.html", {"terms": terms()})


def _taken_by(token, person):
    """The build that this person took on with this link before: a double tap, or the link opened again."""
    used = Invitation.objects.with_token(token).exclude(used_at=None).select_related("build").first()
    build = getattr(used, "build", None)
    return build if build and person.is_authenticated and build.builder_id == person.pk else None


def _is_used_build(token) -> bool:
    """Was a build taken on with this link, on another phone perhaps?"""
    taken = Invitation.objects.with_token(token).filter(purpose=Invitation.Purpose.BUILD, build__builder__isnull=False)
    return taken.exclude(used_at=None).exists()


def _invitation(token) -> Invitation:
    usable = Invitation.objects.usable().with_token(token).select_related("person", "made_by").first()
    is_for_password = usable is not None and usable.purpose == Invitation.Purpose.PASSWORD
    if usable is None or is_for_password and not password_links.still_opens(usable):
        raise Http404(
            _("This invitation has been used, has expired or was withdrawn. Ask the kit's designer for a new one.")
        )
    return usable


@anyone
@require_http_methods(["GET", "HEAD", "POST"])
def invitation(request, token):
    """A link is looked at by GET as often as a mail scanner likes, and used up only by POST."""
    mine = _taken_by(token, request.user)
    if mine:
        return redirect("bench:build", mine.pk)
    if not request.user.is_authenticated and _is_used_build(token):
        messages.info(
            request, _("This invitation has been used already. Sign in with the name and password that you chose then.")
        )
        return redirect_to_login(reverse("bench:builds"), reverse("accounts:sign-in"))
    usable = _invitation(token)
    answer = _new_password if usable.purpose == Invitation.Purpose.PASSWORD else _take_on_build
    return answer(request, usable)


def _take_on_build(request, usable):
    build = getattr(usable, "build", None)
    if build is None:
        raise Http404(_("The build of this invitation no longer exists."))
    data = request.POST or None
    known = request.user.is_authenticated
    named = {
        "bench": forms.BenchForm(
            data, build=build, initial={"mains_volts": build.mains_volts, "mains_hertz": build.mains_hertz}
        ),
        "meter": forms.MeterForm(data, initial={"preset": "handheld"}),
        "cautions": forms.CautionsForm(data),
    }
    if not known:
        named["person"] = forms.NewPersonForm(data)
    if data and all(form.is_valid() for form in named.values()):
        try:
            return _accept(request, usable, build, named)
        except IntegrityError:  # two people chose one name in the same moment
            named["person"].add_error("display_name", _("That name is already in use. Choose another."))
    has_errors = any(form.errors for form in named.values())
    context = {
        "build": build,
        "forms": named,
        "has_errors": has_errors,
        "cautions": [(k, *w) for k, w in CAUTIONS.items()],
    }
    return render(request, "accounts/invitation.html", context, status=422 if data else 200)


@transaction.atomic
def _accept(request, usable, build, named):
    person = request.user
    if "person" in named:
        data = named["person"].cleaned_data
        person = Person.objects.create_person(data["display_name"], data["password"], email=data["email"])
    taken = type(build).objects.select_for_update().get(pk=build.pk).builder_id is not None
    if not usable.use() or taken:
        raise Http404(_("This invitation has just been used."))
    bench = named["bench"].cleaned_data
    build.builder, build.meter = person, named["meter"].save(person)
    build.mains_volts, build.mains_hertz = bench["mains_volts"], bench["mains_hertz"]
    build.save(update_fields=["builder", "meter", "mains_volts", "mains_hertz"])
    if "person" in named:
        if person.email:
            letters.ask_to_confirm(person)
        login(request, person, backend=PASSWORD_BACKEND)
    return remember_person(redirect("bench:build", build.pk), person)


def _new_password(request, usable):
    """Set the password. Everybody signed in as this person is signed out, programs too, and a second factor is still
    asked for."""
    person = usable.person
    form = forms.NewPasswordForm(request.POST or None, person=person)
    if request.method == "POST" and form.is_valid():
        _use_password_link(usable, person, form.cleaned_data["password"])
        letters.write_to(person, "password-changed")
        messages.success(request, _("Your new password is saved."))
        if second_factor.is_on(person):
            return redirect("accounts:sign-in")
        login(request, person, backend=PASSWORD_BACKEND)
        return remember_person(redirect("home"), person)
    return render(
        request,
        "accounts/new-password.html",
        {"form": form, "person": person},
        status=422 if request.method == "POST" else 200,
    )


@transaction.atomic
def _use_password_link(usable, person, password: str) -> None:
    """All of it or nothing: a link is not used up by a password that could not be written."""
    if not usable.use():
        raise Http404(_("This link has just been used."))
    person.set_password(password)
    person.save(update_fields=["password"])
    person.invitations.revoke_password_links()
    devices.sign_out_all(person)
    devices.withdraw_other_ways(person)
    second_factor.forget_wrong_codes(person)
    record(person, "password-reset")


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def meters(request):
    form = forms.MeterForm(request.POST or None, initial={"preset": "handheld"})
    if request.method == "POST" and form.is_valid():
        form.save(request.user)
        messages.success(request, _("Meter added. Choose it on your build's page."))
        return redirect("accounts:meters")
    mine = request.user.meters.filter(retired=False)
    return render(
        request, "accounts/meters.html", {"form": form, "meters": mine}, status=422 if request.method == "POST" else 200
    )


@signed_in
@require_POST
def retire_meter(request, pk):
    meter = get_object_or_404(Meter, owner=request.user, pk=pk)
    meter.retired = True
    meter.save(update_fields=["retired"])
    return redirect("accounts:meters")


def bad_request(request, exception=None):
    return render(
        request,
        "accounts/error.html",
        {"heading": _("The request could not be read"), "words": _("Go back, reload the page and try again.")},
        status=400,
    )


def refused(request, exception=None):
    return render(
        request,
        "accounts/error.html",
        {"heading": _("No access"), "words": str(exception or "") or _("This page belongs to somebody else.")},
        status=403,
    )


def from_elsewhere(request, reason=""):
    """A form without a valid token: of a page that was open before a sign-in, or sent by another site."""
    text = _(
        "Nothing was saved: this page was opened before you signed in. Switch off if a reading "
        "was wrong or past its limit. Then go back, reload the page and send it again."
    )
    return render(request, "accounts/error.html", {"heading": _("Page out of date"), "words": text}, status=403)


def not_found(request, exception=None):
    text = str(exception) if isinstance(exception, Http404) and str(exception) else ""
    if not text or "matches the given query" in text or "tried" in text:
        text = _("There is no page at this address, or you have no access to it.")
    return render(request, "accounts/error.html", {"heading": _("Not found"), "words": text}, status=404)


def broken(request):
    """Rendered without the request: whatever broke may break again where the page asks who is signed in. A disk that
    fills up is often met first there, before any view: the session cannot be read."""
    error = sys.exc_info()[1]
    of_storage = error if isinstance(error, Exception) and not_saved.is_of_storage(error) else None
    if of_storage:
        not_saved.warn_owner(of_storage)
    context = {
        "heading": _("Server error"),
        "words": _("What you sent may not have been saved. Go back and send it again in a minute."),
    }
    return HttpResponse(render_to_string("accounts/not-saved.html", context), status=503 if of_storage else 500)


_pages: tuple[Any, ...] = (bad_request, refused, from_elsewhere, not_found, broken)
for _page in _pages:
    _page.access = "anyone"
