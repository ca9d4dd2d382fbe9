"""Forgotten passwords: a one-use link by e-mail, for people who gave an address."""

from django import forms
from django.shortcuts import redirect, render
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from builds.accounts import letters, limits
from builds.accounts.access import anyone
from builds.accounts.client_address import counted_address


class ForgottenForm(forms.Form):
    email = forms.EmailField(label=gettext_lazy("Your e-mail address"))


@anyone
@require_http_methods(["GET", "HEAD", "POST"])
def forgotten(request):
    """Answers the same, and as soon, whether or not the address is known: nobody can fish for people."""
    form = ForgottenForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if not limits.is_allowed("reset address", counted_address(request)):
            return limits.too_many(request, "reset address")
        letters.ask_for_reset(form.cleaned_data["email"])
        return redirect("accounts:forgotten-sent")
    return render(request, "accounts/forgotten.html", {"form": form}, status=422 if request.method == "POST" else 200)


@anyone
@require_safe
def forgotten_sent(request):
    return render(request, "accounts/forgotten-sent.html")
