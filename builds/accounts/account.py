"""A person's own account: what it holds, and changing it. Whatever opens a door asks for the password first."""

from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.accounts import closing, confirming, devices, letters, limits, second_factor
from builds.accounts.access import signed_in
from builds.accounts.account_forms import AddressForm, ChangePasswordForm, CloseForm, FirstCodeForm, PasswordForm
from builds.accounts.events import record
from builds.accounts.models import Event

SHOWN = 30


@signed_in
@require_safe
def account(request):
    return render(
        request,
        "accounts/account.html",
        {
            "devices": devices.live_devices(request.user),
            "here": request.session.session_key,
            "has_second_factor": second_factor.is_on(request.user),
            "events": Event.objects.filter(person=request.user)[:SHOWN],
        },
    )


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def password(request):
    form = ChangePasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        request.user.set_password(form.cleaned_data["password"])
        request.user.save(update_fields=["password"])
        before = request.session.session_key
        update_session_auth_hash(request, request.user)
        devices.follow_new_key(before, request.session.session_key)
        request.user.invitations.revoke_password_links()
        devices.sign_out_all(request.user, but=request.session.session_key)
        devices.withdraw_other_ways(request.user)  # whoever knew the old one may have made some
        second_factor.forget_wrong_codes(request.user)
        record(request.user, "password-changed")
        letters.write_to(request.user, "password-changed")
        text = _("Password changed. All your other devices are signed out and your access tokens are withdrawn.")
        messages.success(request, text)
        return redirect("accounts:account")
    return _form(request, form, _("Change password"), _("Change password"))


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def address(request):
    form = AddressForm(request.POST or None, person=request.user, initial={"email": request.user.email})
    if request.method == "POST" and form.is_valid():
        before, after = request.user.email, form.cleaned_data["email"]
        if before != after:
            if after and not limits.is_allowed("confirm", str(request.user.pk)):
                return limits.too_many(request, "confirm")
            request.user.email, request.user.confirmed_email = after, ""
            request.user.save(update_fields=["email", "confirmed_email"])
            request.user.invitations.revoke_password_links()
            record(request.user, "address-changed")
            for mailbox in (before, after):
                if mailbox:
                    letters.write_to(
                        request.user, "address-changed", to=mailbox, before=before or "–", after=after or "–"
                    )
            if after:
                letters.ask_to_confirm(request.user)
        messages.success(request, _("E-mail address saved."))
        return redirect("accounts:account")
    return _form(request, form, _("Change e-mail address"), _("Save address"))


@signed_in
@require_POST
@limits.limited("confirm")
def send_confirmation(request):
    if request.user.has_confirmed_address or not request.user.email:
        messages.info(request, _("There is no address to confirm."))
    else:
        letters.ask_to_confirm(request.user)
        text = _("A link was sent to %(address)s. Open it within seven days.") % {"address": request.user.email}
        messages.success(request, text)
    return redirect("accounts:account")


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def confirm_address(request, token):
    """Opened from the mail by whoever is signed in; a mail scanner is not."""
    if not confirming.is_for(request.user, token):
        raise Http404(
            _(
                "This link has expired, or it is for another account or an earlier address. "
                "Ask for a new one on your account page."
            )
        )
    if request.method != "POST" and not request.user.has_confirmed_address:
        return render(request, "accounts/confirm-address.html")
    if not request.user.has_confirmed_address:
        confirming.confirm(request.user)
    messages.success(request, _("Your e-mail address is confirmed."))
    return redirect("accounts:account")


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def switch_on(request):
    """Scan the code, type what the app shows, note the recovery codes."""
    if second_factor.is_on(request.user):  # the answer with the recovery codes may have been lost on the way
        text = _("The second factor is on. If you did not get your recovery codes, switch it off and on again.")
        messages.info(request, text)
        return redirect("accounts:account")
    form = FirstCodeForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        codes = second_factor.confirm(request.user, form.cleaned_data["code"])
        if codes:
            devices.sign_out_all(request.user, but=request.session.session_key)  # they came in without it
            record(request.user, "second-factor-on")
            letters.write_to(request.user, "second-factor-on")
            return render(request, "accounts/recovery-codes.html", {"codes": codes})
        form.add_error("code", _("This code is wrong. Check the clock of your phone and type the next code."))
    device = second_factor.unconfirmed(request.user)
    context = {"form": form, "qr": second_factor.qr_code(device), "key": second_factor.make_key(device)}
    return render(request, "accounts/second-factor.html", context, status=422 if request.method == "POST" else 200)


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def switch_off(request):
    form = PasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        second_factor.switch_off(request.user)
        record(request.user, "second-factor-off")
        letters.write_to(request.user, "second-factor-off")
        messages.success(request, _("The second factor is off. Signing in now asks only for your password."))
        return redirect("accounts:account")
    return _form(request, form, _("Switch off the second factor"), _("Switch off"))


@signed_in
@require_POST
def sign_out_device(request, pk):
    """A second tap, or a page older than the sign-out, finds the device gone: that is what was wanted. Only the page
    that showed it can say so: a device of somebody else is the same as none."""
    device = request.user.devices.filter(pk=pk).first()
    if device is None and not devices.was_own(request.user, pk, request.POST.get("shown", "")):
        raise Http404
    devices.sign_out([device] if device else [])
    messages.success(request, _("That device is signed out.") if device else _("That device is already signed out."))
    return redirect("accounts:account")


@signed_in
@require_POST
def sign_out_others(request):
    count = devices.sign_out_all(request.user, but=request.session.session_key)
    record(request.user, "signed-out-everywhere")
    signed_out = ngettext("%(n)d other device is signed out.", "%(n)d other devices are signed out.", count)
    messages.success(request, signed_out % {"n": count})
    return redirect("accounts:account")


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def close_account(request):
    """Close the account for good. The page says what is deleted and what stays as evidence."""
    form = CloseForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid() and closing.close(request.user):
        logout(request)
        messages.success(request, _("Your account is closed."))
        return redirect("accounts:sign-in")
    obstacles = closing.why_not_closed(request.user)
    context = {"form": form, "obstacles": obstacles, "former": closing.former_name(request.user)}
    return render(request, "accounts/close.html", context, status=422 if request.method == "POST" else 200)


def _form(request, form, heading: str, save: str):
    return render(
        request,
        "accounts/form.html",
        {"form": form, "heading": heading, "save": save},
        status=422 if request.method == "POST" else 200,
    )
