"""How builders reach the designers of a kit."""

from django import forms
from django.contrib import messages
from django.db import transaction
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from builds.accounts.access import may_design
from builds.guides.access import designers_revision
from builds.guides.editor import conflicts
from builds.guides.editor.edits import row_version
from builds.guides.models import Kit
from builds.guides.revisions import hold


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
@require_http_methods(["GET", "HEAD", "POST"])
def contact(request, kit, letter):
    revision = designers_revision(request.user, kit, letter)
    if request.method != "POST":
        return _page(request, revision, ContactForm(instance=revision.kit), _version(revision.kit))
    with transaction.atomic():
        hold(revision.kit_id)
        revision.kit.refresh_from_db()  # as it is now that nobody else can edit
        version, form = _version(revision.kit), ContactForm(request.POST, instance=revision.kit)
        clashes = conflicts.clashes(form, "contact", version)
        if conflicts.is_versioned(form) and not clashes and form.is_valid():
            form.save()
            messages.success(request, _("Saved. Builders see this on their page “Contact the designer”."))
            return redirect("guides:revision", kit, letter)
    return _page(request, revision, form, version, clashes)


def _version(kit: Kit) -> str:
    return row_version({"contact": kit.contact})


def _page(request, revision, form, version: str, clashes=()):
    context = {"revision": revision, "form": form, "version": version, "clashes": clashes}
    context |= {"k": revision.kit.key, "l": revision.letter}
    return render(request, "guides/contact.html", context, status=conflicts.find_http_status(request, clashes))
