"""Forgotten passwords: a one-use link by e-mail, for people who gave an address."""

import logging
from datetime import timedelta
from smtplib import SMTPException

from django import forms
from django.core.mail import send_mail
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_http_methods

from builds.accounts.access import anyone
from builds.accounts.models import Invitation, Person

log = logging.getLogger(__name__)


class ForgottenForm(forms.Form):
    email = forms.EmailField(label=gettext_lazy("Your e-mail address"))


@anyone
@require_http_methods(["GET", "POST"])
def forgotten(request):
    """Answers the same whether or not the address is known, so that nobody can fish for names."""
    form = ForgottenForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        for person in Person.objects.filter(email__iexact=form.cleaned_data["email"], is_active=True)[:5]:
            _send_link(request, person)
        return redirect("accounts:forgotten-sent")
    return render(request, "accounts/forgotten.html", {"form": form}, status=422 if request.method == "POST" else 200)


@anyone
@require_GET
def forgotten_sent(request):
    return render(request, "accounts/forgotten-sent.html")


def _send_link(request, person):
    recent = person.invitations.usable().filter(purpose=Invitation.Purpose.PASSWORD).count()
    if recent >= 3:  # enough links are under way; a fourth would only be a nuisance
        return
    _made, token = Invitation.make(Invitation.Purpose.PASSWORD, person=person, life=timedelta(hours=2))
    link = request.build_absolute_uri(reverse("accounts:invitation", args=[token]))
    words = render_to_string("accounts/forgotten.txt", {"person": person, "link": link})
    try:
        send_mail(_("A new password for your kit builds"), words, None, [person.email])
    except (OSError, SMTPException):  # the page says the same whether or not there is such a person
        log.exception("A link for a new password could not be sent.")
