"""The designers of a kit and the record of what they did: for its owners."""

from django import forms
from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.accounts.models import Event
from builds.guides import access, co_designers
from builds.guides.models import KitRole
from builds.ui.errors import SiteError

SHOWN = 100


class AddForm(forms.Form):
    name = forms.CharField(label=gettext_lazy("Name they sign in with"), max_length=60)
    role = forms.ChoiceField(label=gettext_lazy("Role"), choices=KitRole.Role.choices, initial=KitRole.Role.EDITOR)


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def people(request, kit):
    row = access.owners_kit(request.user, kit)
    form = AddForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            person = co_designers.add(row, request.user, **form.cleaned_data)
            messages.success(request, _("Added %(person)s.") % {"person": person})
            return redirect("guides:people", kit)
        except SiteError as error:
            form.add_error("name", str(error))
    context = {
        "kit": row,
        "form": form,
        "people": co_designers.roles_of(row),
        "only_owner": co_designers.only_owner(row),
        "roles": KitRole.Role.choices,
        "events": Event.objects.filter(kit=row.key)[:SHOWN],
    }
    return render(request, "guides/people.html", context, status=422 if request.method == "POST" else 200)


@may_design
@require_POST
def change_person(request, kit, pk):
    """Change a role, hand the kit over, or take somebody away: `do` says which."""
    row = access.owners_kit(request.user, kit)
    person = get_object_or_404(row.designers, pk=pk)
    wish = request.POST.get("do", "")
    try:
        if wish == "remove":
            co_designers.remove(row, request.user, person)
        elif wish == "hand-over" and person != request.user:
            co_designers.hand_over(row, request.user, person)
        elif wish in KitRole.Role.values:
            co_designers.change(row, request.user, person, wish)
        else:
            raise SiteError(_("Choose a role, or remove the person."), argument="do", code="no-such-change")
        messages.success(request, _("Saved."))
    except SiteError as error:
        messages.error(request, str(error))
    still_owner = (request.user, KitRole.Role.OWNER) in co_designers.roles_of(row)
    return redirect("guides:people", kit) if still_owner else redirect("guides:kits")
