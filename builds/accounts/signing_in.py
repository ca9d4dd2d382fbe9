"""Signing in: name and password, then a code where the person asked for one; and out again."""

import time

from django import forms
from django.contrib.auth import login
from django.contrib.auth.signals import user_logged_in
from django.contrib.auth.views import LoginView, LogoutView
from django.core import signing
from django.dispatch import receiver
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from builds.accounts import letters, limits, second_factor
from builds.accounts.access import anyone
from builds.accounts.events import record
from builds.accounts.forms import SignInForm
from builds.accounts.models import Device, Person
from builds.accounts.names import name_key

PASSWORD_BACKEND = "django.contrib.auth.backends.ModelBackend"
WAITING = "second-factor"  # in the session: who gave the password and owes the code
PATIENCE = 300  # s to type the code
SEEN = "seen"  # the cookie of a browser that somebody signed in with before
SEEN_FOR = 365 * 24 * 3600


class SignIn(LoginView):
    template_name = "accounts/sign-in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def post(self, request, *args, **kwargs):
        """Tries are counted by address and, from browsers not seen before, by name: whoever guesses at a name from
        everywhere does not shut its owner out."""
        typed = name_key(request.POST.get("username", ""))
        if not limits.is_allowed("sign-in address", request.META.get("REMOTE_ADDR", "")):
            return limits.too_many(request, "sign-in address")
        if not was_seen(request, typed) and not limits.is_allowed("sign-in name", typed):
            return limits.too_many(request, "sign-in name")
        return super().post(request, *args, **kwargs)

    def form_valid(self, form):
        person = form.get_user()
        if not second_factor.is_on(person):
            return mark_seen(super().form_valid(form), person)
        self.request.session[WAITING] = [person.pk, time.time(), self.get_success_url()]
        return redirect("accounts:second-factor-code")


class SignOut(LogoutView):
    def post(self, request, *args, **kwargs):
        """The browser lets go of the pages it kept. What waits to be sent (static/outbox.js) stays for its sender."""
        answer = super().post(request, *args, **kwargs)
        answer["Clear-Site-Data"] = '"cache"'
        return answer


sign_in = anyone(require_http_methods(["GET", "POST"])(SignIn.as_view()))
sign_out = anyone(SignOut.as_view())


class CodeForm(forms.Form):
    code = forms.CharField(
        label=gettext_lazy("Code"),
        max_length=20,
        help_text=gettext_lazy("Six digits from your authenticator app, or one of your recovery codes."),
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "text", "autofocus": True}),
    )


@anyone
@require_http_methods(["GET", "POST"])
def code(request):
    """The second step. Without the first, or after five minutes, it begins again."""
    pk, since, following = request.session.get(WAITING, (None, 0, ""))
    person = Person.objects.filter(pk=pk, is_active=True).first()
    if person is None or time.time() - since > PATIENCE:
        request.session.pop(WAITING, None)
        return redirect("accounts:sign-in")
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if not limits.is_allowed("code", str(person.pk)):
            return limits.too_many(request, "code")
        if device := second_factor.verify(person, form.cleaned_data["code"]):
            return _finish(request, person, device, following)
        form.add_error("code", _("This code is wrong. Wait for the next one and type it."))
    return render(request, "accounts/code.html", {"form": form}, status=422 if request.method == "POST" else 200)


def _finish(request, person, device, following):
    login(request, person, backend=PASSWORD_BACKEND)
    request.session.pop(WAITING, None)
    if second_factor.is_recovery(device):
        record(person, "recovery-code-used")
        letters.write_to(person, "recovery-code-used")
    safe = url_has_allowed_host_and_scheme(following, allowed_hosts={request.get_host()})
    return mark_seen(redirect(following if safe else "home"), person)


def was_seen(request, key: str) -> bool:
    """Has the person of this name signed in from this browser before?"""
    try:
        return signing.loads(request.COOKIES.get(SEEN, ""), salt=SEEN, max_age=SEEN_FOR) == key
    except signing.BadSignature:
        return False


def mark_seen(answer, person):
    value = signing.dumps(person.name_key, salt=SEEN)
    answer.set_cookie(SEEN, value, max_age=SEEN_FOR, httponly=True, samesite="Lax", secure=_is_secure())
    return answer


def _is_secure() -> bool:
    from django.conf import settings

    return settings.HTTPS


@receiver(user_logged_in)
def note_device(sender, request, user, **_more):
    """Keep which browsers somebody is signed in with, so that each can be signed out."""
    if not request.session.session_key:
        request.session.save()
    agent = request.META.get("HTTP_USER_AGENT", "")[:200]
    Device.objects.update_or_create(session_key=request.session.session_key, defaults={"person": user, "agent": agent})
    record(user, "signed-in", agent=agent)
