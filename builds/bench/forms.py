"""Forms of the bench: one for each action. Each carries an entry key, so that a second post adds nothing."""

from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from builds.accounts.forms import HERTZ, MAINS
from builds.bench.models import Message, Snag
from builds.bench.readings.entry_keys import EntryForm, add_once
from builds.bench.readings.mains import refuse_unserved
from builds.bench.snags.spots import parse_spot
from builds.ui.messages.errors import message_for
from builds.ui.messages.mains import other_supply_text
from builds.ui.rich_text import to_text
from checks.entry import parse_reading, refuse_lone_one
from checks.errors import ChecksError
from checks.mains import is_other_supply


class SwitchOnForm(EntryForm):
    """One tap: the kit is about to have power again."""


class CautionsForm(EntryForm):
    asks_at = "read"
    entry_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4, required=False)
    read = forms.BooleanField(
        label=_("I have read these cautions and will follow them in this session."),
        error_messages={"required": _("Read the cautions and tick this before you continue.")},
    )
    mains = forms.CharField(
        label=_("Mains voltage now, from a plug-in meter"),
        required=False,
        max_length=20,
        help_text=_(
            "Never measure the mains with ordinary probes. If you have no plug-in meter, leave this "
            "blank: the bands are then wider, to allow for the permitted range of the supply."
        ),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )

    def __init__(self, *args, nominal: int | None = None, **kwargs):
        super().__init__(*args, **kwargs)
        self.nominal = nominal  # what the build is set up for

    def clean_mains(self):
        text = self.cleaned_data["mains"].strip()
        if not text:
            return None
        try:
            volts = parse_reading(text, "V", "ac volts").value
        except ChecksError as error:
            raise forms.ValidationError(message_for(error), code=error.code) from error
        if volts is None or not 80 <= volts <= 280:
            raise forms.ValidationError(
                _("Type a mains voltage from 80 V to 280 V, for example 231, or leave this blank."),
                code="range",
            )
        if self.nominal and is_other_supply(self.nominal, volts):
            raise forms.ValidationError(other_supply_text(self.nominal, volts), code="other-supply")
        return volts


class MadeSafeForm(EntryForm):
    asks_at = "typed"
    typed = forms.CharField(
        label=_("DC volts across the reservoir now"),
        max_length=40,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "reading num"}),
    )

    def clean_typed(self):
        try:
            self.quantity = parse_reading(self.cleaned_data["typed"], "V", "dc volts")
            refuse_lone_one(self.quantity, None)
        except ChecksError as error:
            raise forms.ValidationError(message_for(error), code=error.code) from error
        if (self.quantity.power or 0) < 0:  # a slip of a thousand here would put hands on a charged capacitor
            raise forms.ValidationError(_("Type volts, not millivolts: 0.06 for 60 mV."), code="milli")
        if self.quantity.value is None:
            raise forms.ValidationError(
                _("Over range is not a safe reading. Choose a higher range and measure again."), code="over-range"
            )
        return self.cleaned_data["typed"]


MOST_PHOTOS = 12  # in one post


class PhotosInput(forms.ClearableFileInput):
    allow_multiple_selected = True


class PhotosField(forms.FileField):
    """One photo or several; gives a list. Whether they are photos is found out by decoding them (photos.py)."""

    def __init__(self, **kwargs):
        super().__init__(
            widget=PhotosInput(
                attrs={"accept": "image/jpeg,image/png,image/webp,image/heic,image/heif", "multiple": True}
            ),
            **kwargs,
        )

    def clean(self, data, initial=None):
        files = [file for file in data or [] if file]
        if not files:
            return [super().clean(None, initial)] if self.required else []
        if len(files) > MOST_PHOTOS:
            raise forms.ValidationError(
                _("Upload at most %(most)s photos at a time; you chose %(chosen)s."),
                code="many",
                params={"most": MOST_PHOTOS, "chosen": len(files)},
            )
        return [super(PhotosField, self).clean(file, initial) for file in files]


class PhotoForm(EntryForm):
    asks_at = "photo"
    photo = PhotosField(label=_("Photos"), error_messages={"required": _("Choose a photo first.")})


class SnagForm(EntryForm):
    asks_at = "words"
    kind = forms.ChoiceField(label=_("What is wrong?"), choices=Snag.Kind.choices, widget=forms.RadioSelect)
    severity = forms.ChoiceField(label=_("How serious is it?"), choices=Snag.Severity.choices, widget=forms.RadioSelect)
    about = forms.ChoiceField(label=_("About"), required=False)
    words = forms.CharField(
        label=_("What happened, and what did you expect?"), max_length=4000, widget=forms.Textarea(attrs={"rows": 4})
    )
    photo = PhotosField(label=_("Photos"), required=False)
    spot = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def __init__(self, *args, stage, **kwargs):
        super().__init__(*args, **kwargs)
        steps, checks = list(stage.steps.all()), list(stage.checks.all())
        self.targets = {f"step:{s.key}": ("step", s) for s in steps} | {
            f"check:{c.key}": ("check_row", c) for c in checks
        }
        parts = list(stage.revision.parts.all())
        self.targets |= {f"part:{p.ref}": ("part", p) for p in parts}
        self.fields["about"].choices = [
            ("", _("the whole stage")),
            (_("Steps"), [(f"step:{s.key}", f"{n}. {to_text(s.text)[:50]}") for n, s in enumerate(steps, 1)]),
            (_("Checks"), [(f"check:{c.key}", c.title) for c in checks]),
            (_("Parts"), [(f"part:{p.ref}", f"{p.ref} {p.value}".strip()) for p in parts]),
        ]

        self.pictures = {f"step:{s.key}": s.picture for s in steps} | {f"check:{c.key}": c.picture for c in checks}

    def clean_spot(self):
        return parse_spot(self.cleaned_data["spot"])

    def target(self) -> dict:
        """The step, check or part this snag is about, as a field of Snag; empty for the whole stage."""
        chosen = self.cleaned_data["about"]
        return dict([self.targets[chosen]]) if chosen else {}


class MessageForm(EntryForm):
    asks_at = "words"
    words = forms.CharField(label=_("Your message"), max_length=4000, widget=forms.Textarea(attrs={"rows": 3}))

    def save(self, snag, person) -> tuple[Message, bool]:
        """The message of this post, and whether it is new. Raises UsedKey."""
        return add_message(snag, person, self.cleaned_data["words"], self.cleaned_data["entry_key"])


def add_message(snag, by, text: str, key) -> tuple[Message, bool]:
    """The message of a post, and whether it is new. Raises UsedKey."""
    return add_once(Message, key, {"snag": snag, "by": by, "words": text})


class BenchForm(forms.Form):
    """Which mains and meter a build is made with."""

    mains_volts = forms.TypedChoiceField(label=_("Mains"), choices=MAINS, coerce=int)
    mains_hertz = forms.TypedChoiceField(label=_("Frequency"), choices=HERTZ, coerce=int)
    meter = forms.ModelChoiceField(label=_("Meter"), queryset=None, empty_label=None)

    def __init__(self, *args, person, revision, **kwargs):
        super().__init__(*args, **kwargs)
        self.revision = revision
        meters = self.fields["meter"]
        meters.queryset = person.meters.filter(retired=False)
        meters.choices = [(meter.pk, str(meter)) for meter in meters.queryset]  # or a page asks for them twice

    def clean_mains_volts(self):
        try:
            refuse_unserved(self.revision, self.cleaned_data["mains_volts"])
        except ChecksError as error:
            raise forms.ValidationError(message_for(error), code=error.code) from error
        return self.cleaned_data["mains_volts"]
