"""Saying how one wants to be told, and stopping the letters."""

from django import forms
from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from builds.accounts.access import anyone, signed_in
from builds.accounts.models import Person
from builds.notifications.emails import person_of
from builds.notifications.models import Preference

SHOWN = 10


class MailForm(forms.Form):
    email = forms.EmailField(
        label="Your e-mail address",
        required=False,
        max_length=254,
        help_text="Also for a forgotten password. Leave it empty and nothing is sent.",
    )
    when = forms.ChoiceField(label="Send me", choices=Preference.When.choices, widget=forms.RadioSelect)


@signed_in
@require_http_methods(["GET", "POST"])
def mail(request):
    """One's own address, wish and latest letters."""
    wish = Preference.objects.filter(person=request.user).first() or Preference(person=request.user)
    form = MailForm(request.POST or None, initial={"email": request.user.email, "when": wish.when})
    if request.method == "POST" and form.is_valid():
        Person.objects.filter(pk=request.user.pk).update(email=form.cleaned_data["email"])
        Preference.objects.update_or_create(person=request.user, defaults={"when": form.cleaned_data["when"]})
        messages.success(request, "Kept.")
        return redirect("notifications:mail")
    return render(
        request,
        "notifications/mail.html",
        {"form": form, "letters": request.user.letters.all()[:SHOWN]},
        status=422 if request.method == "POST" else 200,
    )


@csrf_exempt  # the signed token is the leave: a mail program posts here without a cookie (RFC 8058)
@anyone
@require_http_methods(["GET", "POST"])
def stop(request, token):
    """Stop a person's letters. Looked at as often as a mail scanner likes; only a post stops them."""
    person = Person.objects.filter(pk=person_of(token)).first()
    if person is None:
        raise Http404("This link stops nobody's letters. Was it cut off in the mail?")
    if request.method == "POST":
        Preference.objects.update_or_create(person=person, defaults={"when": Preference.When.NEVER})
    return render(request, "notifications/stop.html", {"stopped": request.method == "POST"})
