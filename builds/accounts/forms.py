"""Forms of the accounts pages: one for each action."""

from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.forms import AuthenticationForm
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from builds.accounts.models import Meter, Person
from builds.accounts.names import LONGEST, clean_name, name_key
from builds.ui.messages.errors import message_for
from builds.ui.messages.meter import PRESET_NAMES
from checks.errors import ChecksError
from checks.mains import SUPPLIES
from checks.meter import LEAST_AC_HERTZ, PRESETS, Accuracy, MeterSpec
from checks.quantity import parse_quantity

MAINS = [(volts, f"{volts} V") for volts in sorted(SUPPLIES)]
HERTZ = [(50, "50 Hz"), (60, "60 Hz")]


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": _("The name or the password is wrong. Check both and try again."),
        "inactive": _("This account is closed."),
    }


class PasswordPairMixin(forms.Form):
    """Two password fields that must agree and be good enough."""

    password = forms.CharField(
        label=_("Password"),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=_("Eight characters or more, not a common word."),
    )
    password_again = forms.CharField(
        label=_("Password again"), widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )

    def clean(self):
        data = super().clean()
        first, again = data.get("password"), data.get("password_again")
        if first and again and first != again:
            self.add_error("password_again", _("The two passwords differ. Type the same password twice."))
        elif first:
            try:
                password_validation.validate_password(first, self.whose())
            except forms.ValidationError as error:
                self.add_error("password", error)
        return data

    def whose(self) -> Person | None:
        """The person the password is for: it must not be like their name or address."""
        return None


class NewPasswordForm(PasswordPairMixin):
    def __init__(self, *args, person: Person, **kwargs):
        super().__init__(*args, **kwargs)
        self.person = person

    def whose(self) -> Person:
        return self.person


class NewPersonForm(PasswordPairMixin):
    display_name = forms.CharField(
        label=_("Your name here"), max_length=60, help_text=_("You sign in with it. It need not be your real name.")
    )
    email = forms.EmailField(
        label=_("E-mail address"),
        required=False,
        help_text=_("Only for a forgotten password and answers to your snags."),
    )
    field_order = ["display_name", "email", "password", "password_again"]

    def clean_display_name(self):
        name = clean_name(self.cleaned_data["display_name"])
        if len(name) > LONGEST:  # some characters are written out as several
            raise forms.ValidationError(_("This name is too long. Use 60 characters at most."), code="long")
        if Person.objects.filter(name_key=name_key(name)).exists():
            raise forms.ValidationError(
                _("That name, or one that looks like it, is already in use. Choose another."), code="taken"
            )
        return name

    def whose(self) -> Person:
        data = self.cleaned_data
        return Person(display_name=data.get("display_name", ""), email=data.get("email", ""))


class BenchForm(forms.Form):
    """Which mains and which meter; with the cautions read."""

    mains_volts = forms.TypedChoiceField(label=_("Mains where you build"), choices=MAINS, coerce=int, initial=230)
    mains_hertz = forms.TypedChoiceField(label=_("Frequency"), choices=HERTZ, coerce=int, initial=50)

    def __init__(self, *args, build, **kwargs):
        super().__init__(*args, **kwargs)
        self.build = build

    def clean_mains_volts(self):
        try:
            self.build.refuse_mains(self.cleaned_data["mains_volts"])
        except ChecksError as error:
            raise forms.ValidationError(message_for(error), code=error.code) from error
        return self.cleaned_data["mains_volts"]


class CautionsForm(forms.Form):
    read_cautions = forms.BooleanField(
        label=_("I have read the cautions above. I will follow them and my local codes."),
        error_messages={"required": _("Read the cautions and tick this box before you continue.")},
    )


PRESET_CHOICES = [(key, PRESET_NAMES[key]) for key in PRESETS] + [("own", _("My meter's own figures (fill in below)"))]


class MeterForm(forms.Form):
    """A meter by a generic preset, or by its own figures as its manual gives them."""

    preset = forms.ChoiceField(
        label=_("Meter"),
        choices=PRESET_CHOICES,
        widget=forms.RadioSelect,
        help_text=_("Choose the meter nearest to yours. The accuracy page of its manual has the figures."),
    )
    name = forms.CharField(label=_("Name of the meter"), max_length=60, required=False)
    kind = forms.ChoiceField(
        label=_("Kind of meter"),
        choices=[("digital", _("digital")), ("analogue", _("analogue (moving coil)"))],
        required=False,
    )
    input_resistance = forms.CharField(
        label=_("Input resistance on volts"), required=False, help_text=_("For example 10M.")
    )
    ohms_per_volt = forms.CharField(label=_("or ohms per volt"), required=False, help_text=_("For example 20k."))
    ranges = forms.CharField(
        label=_("Voltage ranges"),
        required=False,
        help_text=_("For an analogue meter: its full-scale values, for example 10, 50, 250, 1000."),
    )
    dc_percent = forms.FloatField(label=_("DC volts: ± %"), required=False, min_value=0, max_value=20)
    dc_digits = forms.FloatField(label=_("DC volts: ± digits"), required=False, min_value=0, max_value=100)
    ac_percent = forms.FloatField(label=_("AC volts: ± %"), required=False, min_value=0, max_value=20)
    ac_digits = forms.FloatField(label=_("AC volts: ± digits"), required=False, min_value=0, max_value=100)
    ac_hertz = forms.FloatField(
        label=_("AC volts: highest frequency, Hz"),
        required=False,
        min_value=LEAST_AC_HERTZ,
        max_value=1e7,
        help_text=_("The highest frequency for which the manual specifies AC volts. If left blank, 400 Hz is assumed."),
    )
    ohms_percent = forms.FloatField(label=_("Ohms: ± %"), required=False, min_value=0, max_value=20)
    ohms_digits = forms.FloatField(label=_("Ohms: ± digits"), required=False, min_value=0, max_value=100)

    @property
    def has_own_figures(self) -> bool:
        """Was "my meter's own figures" chosen?"""
        return self["preset"].value() == "own"

    def clean(self):
        data = super().clean()
        if data.get("preset") == "own":
            self._own_spec(data)
        elif data.get("preset"):
            data["spec"] = PRESETS[data["preset"]]
            data["name"] = data.get("name") or str(PRESET_NAMES[data["preset"]])
        return data

    def _own_spec(self, data):
        for field in ("dc_percent", "ac_percent", "ohms_percent"):
            if data.get(field) is None and field not in self.errors:
                self.add_error(field, _("Enter the meter's accuracy in per cent, for example 0.5."))
        units = {"input_resistance": "Ω", "ohms_per_volt": "Ω", "ranges": "V"}
        figures = {field: self._read(field, unit) for field, unit in units.items()}
        if self.errors:
            return
        try:
            data["spec"] = MeterSpec(
                kind=data["kind"] or "digital",
                input_ohms=_one(figures["input_resistance"]),
                ohms_per_volt=_one(figures["ohms_per_volt"]),
                ranges=figures["ranges"],
                ac_hertz=data.get("ac_hertz"),
                **{
                    f"{key}": Accuracy(
                        data[f"{short}_percent"],
                        data.get(f"{short}_digits") or 0,
                        full_scale=data["kind"] == "analogue" and short != "ohms",
                    )
                    for key, short in (("dc_volts", "dc"), ("ac_volts", "ac"), ("ohms", "ohms"))
                },
            )
        except ChecksError as error:
            field = {"input_ohms": "input_resistance"}.get(error.argument, error.argument)
            self.add_error(field if field in self.fields else "input_resistance", message_for(error))
        data["name"] = data["name"] or str(_("My meter"))

    def _read(self, field, unit) -> tuple[float, ...]:
        """The figures typed into a field, above zero; ranges stand between commas."""
        text = self.cleaned_data.get(field, "")
        items = text.replace(";", ",").split(",") if field == "ranges" else [text]
        try:
            values = tuple(parse_quantity(item, unit).value for item in items if item.strip())
        except ChecksError as error:
            self.add_error(field, message_for(error))
            return ()
        if not all(value and value > 0 for value in values):
            self.add_error(field, _("Enter figures above zero, as the meter's manual gives them."))
        return values

    @transaction.atomic
    def save(self, owner) -> Meter:
        """The same meter is added once: a form whose answer was lost is sent again."""
        Person.objects.select_for_update().get(pk=owner.pk)
        name, spec = self.cleaned_data["name"], self.cleaned_data["spec"].as_dict()
        same = next((meter for meter in owner.meters.filter(name=name, retired=False) if meter.spec == spec), None)
        return same or Meter.objects.create(owner=owner, name=name, spec=spec)


def _one(values: tuple[float, ...]) -> float | None:
    return values[0] if values else None
