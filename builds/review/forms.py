"""Forms of the designer's pages."""

from uuid import uuid4

from django import forms

from builds.bench.models import Build, Snag
from builds.bench.readings.mains import refuse_unserved
from builds.review.changes.suggest import shortened
from builds.review.models import ReleaseCriteria, Triage
from builds.ui.messages.errors import message_for
from builds.ui.rich_text import to_text
from checks.errors import ChecksError


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

    def clean(self):
        """A build begins on the guide's own mains, which its transformer must be made for."""
        try:
            refuse_unserved(self.revision, self.revision.mains_volts)
        except ChecksError as error:
            raise forms.ValidationError(message_for(error), code=error.code) from error
        return super().clean()


class ConcessionForm(forms.Form):
    reason = forms.CharField(
        label="Reason for the concession",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "A concession needs its reason in writing."},
    )


class TriageForm(forms.ModelForm):
    class Meta:
        model = Triage
        fields = ["cause", "state", "planned_change"]
        widgets = {"planned_change": forms.Textarea(attrs={"rows": 2})}
        labels = {"planned_change": "Planned change of the guide"}


class AnswerForm(forms.Form):
    entry_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    words = forms.CharField(
        label="Answer to the builder", max_length=4000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    state = forms.ChoiceField(label="The snag is now", choices=Snag.State.choices)


class ErratumForm(forms.Form):
    """A correction pinned to a stage, or to a step, check or part of it."""

    about = forms.ChoiceField(label="Pinned to")
    words = forms.CharField(
        label="What builders must know",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say what is to be done differently."},
    )
    again = forms.CharField(
        label="What those past this point are to check again",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args, revision, **kwargs):
        super().__init__(*args, **kwargs)
        self.targets, choices, parts = {}, [], {part.ref: part for part in revision.parts.all()}
        for stage in revision.stages.prefetch_related("steps", "checks"):
            group = [(f"stage:{stage.key}", "the whole stage")]
            self.targets[f"stage:{stage.key}"] = {"stage": stage}
            for kind, rows, field in (("step", stage.steps.all(), "step"), ("check", stage.checks.all(), "check_row")):
                for row in rows:
                    name = f"{kind}:{stage.key}/{row.key}"
                    self.targets[name] = {"stage": stage, field: row}
                    group.append(
                        (
                            name,
                            f"step {row.position}: {shortened(to_text(row.text), 60)}" if kind == "step" else row.title,
                        )
                    )
            for ref in dict.fromkeys(ref for step in stage.steps.all() for ref in step.parts if ref in parts):
                name = f"part:{stage.key}/{ref}"
                self.targets[name] = {"stage": stage, "part": parts[ref]}
                group.append((name, f"part {ref}"))
            choices.append((stage.title, group))
        choices += self._unnamed(revision, parts)
        self.fields["about"].choices = choices

    def _unnamed(self, revision, parts):
        """The group of parts that no step names. Builders read of those before they begin: they are pinned to the first
        stage."""
        first, named = revision.stages.first(), {row["part"].ref for row in self.targets.values() if "part" in row}
        rest = [ref for ref in parts if ref not in named] if first else []
        self.targets |= {f"part:{first.key}/{ref}": {"stage": first, "part": parts[ref]} for ref in rest}
        return (
            [("Parts that no step names", [(f"part:{first.key}/{ref}", f"part {ref}") for ref in rest])] if rest else []
        )

    def target(self) -> dict:
        return self.targets[self.cleaned_data["about"]]


class HaltForm(forms.Form):
    stage = forms.ModelChoiceField(queryset=None, empty_label=None)
    reason = forms.CharField(
        max_length=300,
        help_text="Builders read this.",
        error_messages={"required": "Builders will ask why. Give the reason."},
    )

    def __init__(self, *args, revision, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["stage"].queryset = revision.stages.all()


class ReleaseForm(forms.ModelForm):
    """A kit's release criteria; each change is a new row."""

    class Meta:
        model = ReleaseCriteria
        fields = ["builds_done", "first_pass", "confidence", "readings_each", "coverage", "no_danger"]
        labels = {
            "builds_done": "Builds signed off, at least",
            "readings_each": "Builds that have read each check, at least",
            "first_pass": "Builds right at first in every stage, in % at least",
            "confidence": "How sure of that you want to be, in %",
            "coverage": "Possible faults that the checks show, in % at least",
            "no_danger": "No danger snag may be open",
        }
        help_texts = {
            "first_pass": "Right at first: every check of the stage in band at the first attempt.",
            "confidence": "The surer, the more builds it takes. 90 is usual.",
            "coverage": "Weighed by how often each fault happens. The page on coverage says which are missed.",
        }

    def add(self, kit, person) -> ReleaseCriteria:
        return ReleaseCriteria.objects.create(kit=kit, by=person, **self.cleaned_data)


class DecisionForm(forms.Form):
    """What a decision on a finding or a snag may carry: figures or words for the draft, and the reason. Fields that
    were not sent are not written. `steps`: keys of steps whose words may come along, as step-KEY."""

    expected = forms.CharField(max_length=30, required=False)
    band = forms.CharField(max_length=30, required=False)
    low = forms.CharField(max_length=30, required=False, label="Band from")
    high = forms.CharField(max_length=30, required=False, label="Band to")
    at_least = forms.CharField(max_length=30, required=False, label="At least")
    at_most = forms.CharField(max_length=30, required=False, label="At most")
    title = forms.CharField(max_length=120, required=False)
    note = forms.CharField(max_length=20000, required=False)
    hints = forms.CharField(max_length=20000, required=False)
    text = forms.CharField(max_length=20000, required=False, label="The step")
    value = forms.CharField(max_length=30, required=False)
    intro = forms.CharField(max_length=20000, required=False, label="Introduction")
    reason = forms.CharField(max_length=2000, required=False, label="Why")

    def __init__(self, data, *, steps=()):
        super().__init__(data)
        for key in steps:
            self.fields[f"step-{key}"] = forms.CharField(max_length=20000, required=False, label=f"Step {key}")

    def sent(self, names) -> dict[str, str]:
        """Of these fields, those that came with the post."""
        return {name: self.cleaned_data[name] for name in names if name in self.data and name in self.cleaned_data}

    def wrong(self) -> str:
        """Every error, each with its field's name, as one sentence after another."""
        told = [
            (self.fields[name].label or name.capitalize(), words)
            for name, found in self.errors.items()
            for words in found
        ]
        return " ".join(f"{label}: {words}" for label, words in told)
