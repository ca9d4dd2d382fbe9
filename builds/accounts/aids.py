"""Helps at the bench that belong to a device, not to a person: large type, and prompts and verdicts spoken aloud.

They are kept as cookies of this browser, so that pages have them from their first byte and a shared sign-in does not
carry them from the phone at the bench to the desk. Off until they are switched on.
"""

from django import forms
from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from builds.accounts.access import anyone

YEAR = 365 * 24 * 3600
LARGE, SPOKEN = "large_type", "spoken"


class AidsForm(forms.Form):
    large_type = forms.BooleanField(
        required=False,
        label=gettext_lazy("Large type"),
        help_text=gettext_lazy("Text and figures one and a half times as large, to read at arm's length."),
    )
    spoken = forms.BooleanField(
        required=False,
        label=gettext_lazy("Speak prompts and verdicts"),
        help_text=gettext_lazy(
            "The phone says where the probes go and what the verdict is, so that your eyes stay on "
            "the probe. Some phones speak only after you have tapped the page once."
        ),
    )


@anyone
@require_http_methods(["GET", "HEAD", "POST"])
def aids(request):
    form = AidsForm(request.POST or None, initial={name: name in request.COOKIES for name in (LARGE, SPOKEN)})
    if request.method != "POST" or not form.is_valid():
        return render(request, "accounts/aids.html", {"form": form})
    answer = redirect("accounts:aids")
    for name in (LARGE, SPOKEN):
        if form.cleaned_data[name]:
            answer.set_cookie(name, "on", max_age=YEAR, samesite="Lax", secure=request.is_secure(), httponly=True)
        else:
            answer.delete_cookie(name)
    messages.success(request, _("Saved on this device."))
    return answer
