"""The form that takes a recording."""

from django import forms
from django.utils.translation import gettext_lazy as _

from builds.bench.readings.entry_keys import EntryForm
from builds.bench.recordings.files import SoundFile, inspect_sound
from builds.ui.messages.errors import message_for
from checks.entry import parse_reading
from checks.errors import ChecksError


class RecordingForm(EntryForm):
    """A sound file, and for the tone that calibrates, what the meter showed meanwhile."""

    asks_at = "file"
    file = forms.FileField(
        label=_("Recording"),
        help_text=_("WAV or FLAC, 16 to 32 bits, one or two channels."),
        widget=forms.ClearableFileInput(attrs={"accept": ".wav,.flac,audio/wav,audio/flac"}),
        error_messages={"required": _("Choose the file that you recorded.")},
    )
    meter_volts = forms.CharField(
        label=_("AC volts across the load while the tone played"),
        required=False,
        max_length=40,
        help_text=_("Your meter’s reading, for example 2.83. It sets the scale of the recording in volts."),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    sound: SoundFile

    def __init__(self, *args, calibrates: bool = False, needs_volts: bool = False, **kwargs):
        super().__init__(*args, **kwargs)
        if not calibrates:
            del self.fields["meter_volts"]
        elif needs_volts:
            field = self.fields["meter_volts"]
            field.required = True
            field.error_messages["required"] = _("Type the AC volts that your meter showed while you recorded.")

    def clean_file(self):
        file = self.cleaned_data["file"]
        try:
            self.sound = inspect_sound(file)
        except ChecksError as error:
            raise forms.ValidationError(message_for(error), code="sound") from error
        return file

    def clean_meter_volts(self):
        return clean_volts(self.cleaned_data["meter_volts"])


def clean_volts(typed: str) -> str:
    """What a meter showed while a tone played. Raises ValidationError."""
    text = typed.strip()
    if not text:
        return ""
    try:
        volts = parse_reading(text, "V", "ac volts").value
    except ChecksError as error:
        raise forms.ValidationError(message_for(error), code=error.code) from error
    if not volts or volts > 300:
        raise forms.ValidationError(_("Type the volts that the meter showed, for example 2.83."), code="volts")
    return text
