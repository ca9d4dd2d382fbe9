"""The form that takes a folder of recordings."""

from django import forms
from django.utils.translation import gettext_lazy as _

from builds.bench.models import Build
from builds.bench.readings.entry_keys import EntryForm
from builds.bench.recordings.forms import clean_volts

MOST = 60  # files at once


class ManyFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class FolderField(forms.FileField):
    """Several files; its value is their list."""

    def clean(self, data, initial=None):
        files = data if isinstance(data, list | tuple) else [data] if data else []
        if not files:
            raise forms.ValidationError(self.error_messages["required"], code="required")
        if len(files) > MOST:
            raise forms.ValidationError(_("Choose up to 60 files at once."), code="many")
        return list(files)


class FolderForm(EntryForm):
    """Recordings of one build, or of those whose serial numbers are in the files' names."""

    asks_at = "files"
    files = FolderField(
        label=_("Recordings"),
        help_text=_("Choose all the WAV and FLAC files in a folder. The site recognises the test signal in each one."),
        widget=ManyFiles(attrs={"multiple": True, "accept": ".wav,.flac,audio/wav,audio/flac"}),
        error_messages={"required": _("Choose at least one recording.")},
    )
    build = forms.ModelChoiceField(
        Build.objects.none(),
        label=_("Build"),
        required=False,
        empty_label=_("by the serial number in each file’s name"),
    )
    meter_volts = forms.CharField(
        label=_("AC volts across the load while the tone played"),
        required=False,
        max_length=40,
        help_text=_(
            "The meter’s reading, for example 2.83. It sets the scale of the recordings in volts. If there are tones "
            "of several frequencies, give the reading at the one nearest 1 kHz."
        ),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )

    def __init__(self, *args, builds, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["build"].queryset = builds
        self.fields["build"].label_from_instance = lambda build: build.serial

    def clean_meter_volts(self):
        return clean_volts(self.cleaned_data["meter_volts"])
