"""Signing in: name and password, then a code where the person asked for one; and out again."""

import time
from math import ceil

from django import forms
from django.contrib.auth import login
from django.contrib.auth.signals import user_logged_in
from django.contrib.auth.views import LoginView, LogoutView
from django.dispatch import receiver
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods

from builds.accounts import letters, limits, second_factor
from builds.accounts.access import anyone
from builds.accounts.client_address import counted_address
from builds.accounts.events import record
from builds.accounts.forms import SignInForm
from builds.accounts.models import Device, Person
from builds.accounts.names import name_key
from builds.accounts.seen import has_signed_in_here, remember_person
from builds.accounts.throttling import KNOWN

PASSWORD_BACKEND = "django.contrib.auth.backends.ModelBackend"
WAITING = "owes-code"  # in the session: who gave the password and owes the code
PATIENCE = 300  # s to type the code


class SignIn(LoginView):
    template_name = "accounts/sign-in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def post(self, request, *args, **kwargs):
        """Tries are counted by address and by name. A browser that this person signed in with before has a count of
        its own: whoever guesses, at that name or behind the same address, does not shut its owner out."""
        typed = name_key(request.POST.get("username", ""))
        if has_signed_in_here(request, typed):
            counts = [("sign-in name", KNOWN + typed)]
        else:
            counts = [("sign-in address", counted_address(request)), ("sign-in name", typed)]
        for kind, key in counts:
            if not limits.is_allowed(kind, key):
                return limits.too_many(request, kind)
        return super().post(request, *args, **kwargs)

    def form_invalid(self, form):
        answer = super().form_invalid(form)
        answer.status_code = 422  # as wherever a form comes back with what is wrong
        return answer

    def form_valid(self, form):
        person = form.get_user()
        if not second_factor.is_on(person):
            return remember_person(super().form_valid(form), person)
        proof = person.get_session_auth_hash()  # another once the password is changed
        self.request.session[WAITING] = [person.pk, time.time(), self.get_success_url(), proof]
        return redirect("accounts:second-factor-code")


class SignOut(LogoutView):
    def post(self, request, *args, **kwargs):
        """The browser lets go of the pages it kept. What waits to be sent (static/outbox.js) stays for its sender."""
        answer = super().post(request, *args, **kwargs)
        answer["Clear-Site-Data"] = '"cache"'
        return answer


sign_in = anyone(require_http_methods(["GET", "HEAD", "POST"])(SignIn.as_view()))
sign_out = anyone(SignOut.as_view())


class CodeForm(forms.Form):
    code = forms.CharField(
        label=gettext_lazy("Code"),
        max_length=20,
        help_text=gettext_lazy("Six digits from your authenticator app, or one of your recovery codes."),
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "text", "autofocus": True}),
    )


@anyone
@require_http_methods(["GET", "HEAD", "POST"])
def code(request):
    """The second step. Without the first, after five minutes, or with a password that was changed meanwhile, it begins
    again."""
    pk, since, following, proof = request.session.get(WAITING, (None, 0, "", ""))
    person = Person.objects.filter(pk=pk, is_active=True).first()
    if person is None or not _still_owes_code(person, since, proof):
        request.session.pop(WAITING, None)
        return redirect("accounts:sign-in")
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if not limits.is_allowed("code", str(person.pk)):
            return limits.too_many(request, "code")
        if wait := second_factor.seconds_to_wait(person):
            form.add_error("code", _wait_first(wait))
        elif device := second_factor.verify(person, form.cleaned_data["code"]):
            return _finish(request, person, device, following)
        else:
            form.add_error("code", _("This code is wrong. Wait for the next one and type it."))
    return render(request, "accounts/code.html", {"form": form}, status=422 if request.method == "POST" else 200)


def _still_owes_code(person, since, proof) -> bool:
    is_recent = time.time() - since <= PATIENCE
    return is_recent and proof == person.get_session_auth_hash() and second_factor.is_on(person)


def _wait_first(seconds: float) -> str:
    """The right code is not looked at either: without the reason it would seem wrong."""
    minutes = ceil(seconds / 60)
    return ngettext(
        "Too many wrong codes. Wait %(minutes)d minute, then type the next code.",
        "Too many wrong codes. Wait %(minutes)d minutes, then type the next code.",
        minutes,
    ) % {"minutes": minutes}


def _finish(request, person, device, following):
    login(request, person, backend=PASSWORD_BACKEND)
    request.session.pop(WAITING, None)
    if second_factor.is_recovery(device):
        record(person, "recovery-code-used")
        letters.write_to(person, "recovery-code-used")
    safe = url_has_allowed_host_and_scheme(following, allowed_hosts={request.get_host()})
    return remember_person(redirect(following if safe else "home"), person)


@receiver(user_logged_in)
def note_device(sender, request, user, **_more):
    """Keep which browsers somebody is signed in with, so that each can be signed out."""
    if not request.session.session_key:
        request.session.save()
    agent = request.META.get("HTTP_USER_AGENT", "")[:200]
    Device.objects.update_or_create(session_key=request.session.session_key, defaults={"person": user, "agent": agent})
    record(user, "signed-in", agent=agent)
