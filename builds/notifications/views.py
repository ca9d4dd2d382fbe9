"""Choosing which e-mails to get, and unsubscribing."""

from django import forms
from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from builds.accounts.access import anyone, signed_in
from builds.accounts.models import Person
from builds.notifications.emails import read_token
from builds.notifications.models import Preference
from builds.notifications.notify import refuse

SHOWN = 10


class MailForm(forms.Form):
    when = forms.ChoiceField(label=gettext_lazy("Send me"), choices=Preference.When.choices, widget=forms.RadioSelect)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def mail(request):
    """A person's address, preference and latest e-mails."""
    preference = Preference.objects.filter(person=request.user).first() or Preference(person=request.user)
    form = MailForm(request.POST or None, initial={"when": preference.when})
    if request.method == "POST" and form.is_valid():
        Preference.objects.update_or_create(person=request.user, defaults={"when": form.cleaned_data["when"]})
        messages.success(request, _("Saved."))
        return redirect("notifications:mail")
    return render(
        request,
        "notifications/mail.html",
        {"form": form, "letters": request.user.letters.all()[:SHOWN]},
        status=422 if request.method == "POST" else 200,
    )


@csrf_exempt  # the signed token gives the right: a mail program posts here without a cookie (RFC 8058)
@anyone
@require_http_methods(["GET", "HEAD", "POST"])
def stop(request, token):
    """Unsubscribe a person. Mail scanners open links, so only a POST unsubscribes."""
    pk, address = read_token(token)
    person = Person.objects.filter(pk=pk).first()
    if person is None:
        raise Http404(_("This unsubscribe link is not complete. Open it from the e-mail again."))
    if request.method == "POST":
        refuse(person, address)
    return render(request, "notifications/stop.html", {"stopped": request.method == "POST"})
