"""Forms of a person's own account. Each asks for the password: a phone left on the bench opens nothing."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.accounts import limits
from builds.accounts.forms import PasswordPairMixin
from builds.accounts.models import Person


class PasswordForm(forms.Form):
    old_password = forms.CharField(
        label=gettext_lazy("Current password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args, person: Person, **kwargs):
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_old_password(self):
        typed = self.cleaned_data["old_password"]
        if not limits.is_allowed("code", f"password {self.person.pk}") or not self.person.check_password(typed):
            raise forms.ValidationError(_("This is not your current password."), code="wrong")
        return typed


class ChangePasswordForm(PasswordPairMixin, PasswordForm):
    field_order = ["old_password", "password", "password_again"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["password"].label = _("New password")  # beside the current one, "password" alone could be either

    def whose(self) -> Person:
        return self.person


class AddressForm(PasswordForm):
    email = forms.EmailField(
        label=gettext_lazy("Your e-mail address"),
        required=False,
        help_text=gettext_lazy("Leave it empty to get no e-mail. Both addresses get an e-mail about the change."),
    )
    field_order = ["email", "old_password"]


class FirstCodeForm(PasswordForm):
    code = forms.CharField(
        label=gettext_lazy("Code in your app"),
        max_length=10,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "one-time-code"}),
    )
    field_order = ["code", "old_password"]


class CloseForm(PasswordForm):
    sure = forms.BooleanField(
        label=gettext_lazy("Close my account for good"),
        error_messages={"required": gettext_lazy("Tick this box to close your account.")},
    )
    field_order = ["sure", "old_password"]
