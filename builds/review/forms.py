"""What the designer may write: builds, concessions, triage and answers."""
from django import forms

from builds.bench.models import Build
from builds.review.models import Triage


class BuildForm(forms.Form):
    serial = forms.CharField(label="Serial number", max_length=30,
                             help_text="As it stands on the chassis or the bag.")

    def __init__(self, *args, revision, **kwargs):
        super().__init__(*args, **kwargs)
        self.revision = revision

    def clean_serial(self):
        serial = self.cleaned_data["serial"]
        if Build.objects.filter(revision=self.revision, serial__iexact=serial).exists():
            raise forms.ValidationError("This revision has a build with that serial number.", code="taken")
        return serial


class ConcessionForm(forms.Form):
    reason = forms.CharField(label="Why it may pass", max_length=2000, widget=forms.Textarea(attrs={"rows": 2}),
                             help_text="The builder reads this.")


class TriageForm(forms.ModelForm):
    class Meta:
        model = Triage
        fields = ["cause", "state", "planned_change"]
        labels = {"state": "Status", "planned_change": "Planned change to the guide"}
        widgets = {"planned_change": forms.Textarea(attrs={"rows": 3})}


class AnswerForm(forms.Form):
    words = forms.CharField(label="Answer", max_length=4000, widget=forms.Textarea(attrs={"rows": 3}))
    entry_key = forms.UUIDField(widget=forms.HiddenInput)
