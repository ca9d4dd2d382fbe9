"""How builders reach the designers of a kit."""

from django import forms
from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.guides.access import designers_revision
from builds.guides.models import Kit


class ContactForm(forms.ModelForm):
    class Meta:
        model = Kit
        fields = ["contact"]
        labels = {"contact": gettext_lazy("How builders contact you")}
        help_texts = {
            "contact": gettext_lazy(
                "An e-mail address, a telephone number or hours, such as kits@example.org, weekdays 9 to 17. "
                "Every builder "
                "of this kit sees it beside the snags."
            )
        }


@may_design
@require_http_methods(["GET", "POST"])
def contact(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    form = ContactForm(request.POST or None, instance=revision.kit)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Saved. Builders see this on their page “Contact the designer”."))
        return redirect("guides:revision", kit, letter)
    return render(
        request,
        "guides/contact.html",
        {"revision": revision, "form": form, "k": kit, "l": letter},
        status=422 if request.method == "POST" else 200,
    )
