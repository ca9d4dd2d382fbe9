"""Forms of the designer's pages."""
from uuid import uuid4

from django import forms

from builds.bench.models import Build, Snag
from builds.review.models import Triage


class NewBuildForm(forms.Form):
    serial = forms.CharField(max_length=30, label="Serial number", help_text="As on the label of the kit.")

    def __init__(self, *args, revision, **kwargs):
        self.revision = revision
        super().__init__(*args, **kwargs)

    def clean_serial(self):
        serial = " ".join(self.cleaned_data["serial"].split())
        if Build.objects.filter(revision=self.revision, serial=serial).exists():
            raise forms.ValidationError("This revision has a build of that serial number.", code="taken")
        return serial


class ConcessionForm(forms.Form):
    reason = forms.CharField(label="Reason for the concession", max_length=2000, widget=forms.Textarea(attrs={"rows": 2}),
                             error_messages={"required": "A concession needs its reason in writing."})


class TriageForm(forms.ModelForm):
    class Meta:
        model = Triage
        fields = ["cause", "state", "planned_change"]
        widgets = {"planned_change": forms.Textarea(attrs={"rows": 2})}
        labels = {"planned_change": "Planned change of the guide"}


class AnswerForm(forms.Form):
    entry_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    words = forms.CharField(label="Answer to the builder", max_length=4000, required=False,
                            widget=forms.Textarea(attrs={"rows": 3}))
    state = forms.ChoiceField(label="The snag is now", choices=Snag.State.choices)
