"""Roles in kits that are offered to a person: a page of their own to accept or decline; and taking an offer back."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design, signed_in
from builds.guides import access, offers
from builds.guides.models import KitOffer


@signed_in
@require_safe
def offers_to_me(request):
    mine = KitOffer.objects.open().filter(person=request.user).select_related("kit", "made_by")
    return render(request, "guides/offers.html", {"offers": mine})


@signed_in
@require_POST
def answer_offer(request, pk):
    """`do` says whether it is accepted or declined. One that has ended is answered in words: a second tap, or a page
    older than its withdrawal."""
    mine = get_object_or_404(KitOffer.objects.select_related("kit"), pk=pk, person=request.user)
    if request.POST.get("do") == "accept":
        if offers.accept(request.user, pk):
            messages.success(request, _("Accepted. You are now a designer of %(kit)s.") % {"kit": mine.kit.name})
            return redirect("guides:kits")
    elif request.POST.get("do") == "decline":
        if offers.decline(request.user, pk):
            messages.success(request, _("Declined. Nothing has changed."))
            return redirect("guides:offers")
    else:
        messages.error(request, _("Choose Accept or Decline."))
        return redirect("guides:offers")
    messages.error(request, _("This offer has ended. Nothing has changed."))
    return redirect("guides:offers")


@may_design
@require_POST
def withdraw_offer(request, kit, pk):
    row = access.owners_kit(request.user, kit)
    get_object_or_404(row.offers, pk=pk)
    if offers.withdraw(row, request.user, pk):
        messages.success(request, _("The offer is withdrawn."))
    else:
        messages.error(request, _("This offer has already ended."))
    return redirect("guides:people", kit)
