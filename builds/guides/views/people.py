"""The designers of a kit and the record of what they did: for its owners."""

from django import forms
from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from builds.accounts.access import may_design
from builds.accounts.models import Event
from builds.guides import access, co_designers, offers
from builds.guides.models import KitRole
from builds.ui.errors import SiteError

SHOWN = 100


class AddForm(forms.Form):
    name = forms.CharField(label=gettext_lazy("Name they sign in with"), max_length=60)
    role = forms.ChoiceField(label=gettext_lazy("Role"), choices=KitRole.Role.choices, initial=KitRole.Role.EDITOR)


def _offered_words() -> str:
    return _("Offered to %(person)s. Nothing changes until they accept it.")


@may_design
@require_http_methods(["GET", "HEAD", "POST"])
def people(request, kit):
    row = access.owners_kit(request.user, kit)
    form = AddForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = offers.offer_to(row, request.user, **form.cleaned_data)
            messages.success(request, _offered_words() % {"person": made.person})
            return redirect("guides:people", kit)
        except SiteError as error:
            form.add_error("name", str(error))
    context = {
        "kit": row,
        "form": form,
        "people": co_designers.list_roles(row),
        "offers": row.offers.open().select_related("person", "made_by"),
        "only_owner": co_designers.only_owner(row),
        "roles": KitRole.Role.choices,
        "events": Event.objects.filter(kit=row.key)[:SHOWN],
    }
    return render(request, "guides/people.html", context, status=422 if request.method == "POST" else 200)


@may_design
@require_POST
def change_person(request, kit, pk):
    """Change a role, hand the kit over, or take somebody away: `do` says which. To own a kit has to be accepted."""
    row = access.owners_kit(request.user, kit)
    person = get_object_or_404(row.designers, pk=pk)
    wish = request.POST.get("do", "")
    try:
        if wish == "remove":
            co_designers.remove(row, request.user, person)
        elif wish == "hand-over" and person != request.user:
            offers.offer(row, request.user, person, KitRole.Role.OWNER, hands_over=True)
        elif wish == KitRole.Role.OWNER and person != request.user:
            offers.offer(row, request.user, person, KitRole.Role.OWNER)
        elif wish in (KitRole.Role.EDITOR, KitRole.Role.READER):
            co_designers.change(row, request.user, person, wish)
        else:
            raise SiteError(_("Choose a role, or remove the person."), argument="do", code="no-such-change")
        is_offered = wish in ("hand-over", KitRole.Role.OWNER)
        messages.success(request, _offered_words() % {"person": person} if is_offered else _("Saved."))
    except SiteError as error:
        messages.error(request, str(error))
    still_owner = (request.user, KitRole.Role.OWNER) in co_designers.list_roles(row)
    return redirect("guides:people", kit) if still_owner else redirect("guides:kits")
