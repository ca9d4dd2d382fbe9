"""A person's own settings: the language and the time zone of their pages."""

from django import forms
from django.conf import settings
from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from builds.accounts.access import signed_in
from builds.accounts.localisation import ZONES
from builds.accounts.models import Person

AREAS = ("Africa", "America", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific")
LISTED = sorted(zone for zone in ZONES if zone.partition("/")[0] in AREAS)


def _zones():
    return [("", _("As set in the browser")), ("UTC", "UTC"), *((zone, zone.replace("_", " ")) for zone in LISTED)]


def _languages():
    return [("", _("As set in the browser")), *settings.LANGUAGES]


class PreferencesForm(forms.ModelForm):
    language = forms.ChoiceField(label=gettext_lazy("Language"), required=False, choices=_languages)
    time_zone = forms.ChoiceField(label=gettext_lazy("Time zone"), required=False, choices=_zones)

    class Meta:
        model = Person
        fields = ["language", "time_zone"]


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def preferences(request):
    """Show and save the settings; the message already speaks the chosen language."""
    form = PreferencesForm(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        request.user.save(update_fields=["language", "time_zone"])
        if request.user.language:
            translation.activate(request.user.language)
        messages.success(request, _("Settings saved."))
        return redirect("accounts:preferences")
    return render(request, "accounts/preferences.html", {"form": form}, status=422 if request.method == "POST" else 200)
