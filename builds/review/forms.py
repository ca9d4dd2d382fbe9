"""Forms of the designer's pages."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.bench.models import Build, Erratum
from builds.bench.readings.entry_keys import EntryForm
from builds.bench.readings.mains import refuse_unserved
from builds.review.changes.suggest import shortened
from builds.review.corrected_figures import CorrectedFiguresForm, Correction
from builds.review.models import ReleaseCriteria, Triage
from builds.ui.messages.errors import message_for
from builds.ui.rich_text import to_text
from checks.errors import ChecksError


class NewBuildForm(forms.Form):
    serial = forms.CharField(
        max_length=30, label=gettext_lazy("Serial number"), help_text=gettext_lazy("As on the label of the kit.")
    )

    def __init__(self, *args, revision, **kwargs):
        self.revision = revision
        super().__init__(*args, **kwargs)

    def clean_serial(self):
        serial = " ".join(self.cleaned_data["serial"].split())
        if Build.objects.filter(revision=self.revision, serial=serial).exists():
            raise forms.ValidationError(_("This revision has a build with that serial number."), code="taken")
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
        label=gettext_lazy("Reason for the concession"),
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": gettext_lazy("Give the reason for the concession in writing.")},
    )


class TriageForm(forms.ModelForm):
    class Meta:
        model = Triage
        fields = ["cause", "planned_change", "state"]
        widgets = {"planned_change": forms.Textarea(attrs={"rows": 2})}
        labels = {
            "cause": gettext_lazy("Root cause"),
            "state": gettext_lazy("State"),
            "planned_change": gettext_lazy("Planned change to the guide"),
        }


class AnswerForm(EntryForm):
    asks_at = "words"
    words = forms.CharField(
        label=gettext_lazy("Answer to the builder"),
        max_length=4000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


def _step_label(step) -> str:
    text = shortened(to_text(step.text), 60)
    return _("step %(number)s: %(text)s") % {"number": step.position, "text": text}


def _part_label(ref: str) -> str:
    return _("part %(ref)s") % {"ref": ref}


class ErratumForm(CorrectedFiguresForm, EntryForm):
    """A correction pinned to a stage, or to a step, check or part of it; of a check, with its figures."""

    correction: Correction | None = None

    asks_at = "words"
    about = forms.ChoiceField(label=gettext_lazy("Applies to"))
    words = forms.CharField(
        label=gettext_lazy("Correction"),
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": gettext_lazy("Write the correction: what builders do differently.")},
    )
    again = forms.CharField(
        label=gettext_lazy("What builders who are past this point must check again"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args, revision, **kwargs):
        super().__init__(*args, **kwargs)
        self.revision = revision
        self.targets, choices, parts = {}, [], {part.ref: part for part in revision.parts.all()}
        for stage in revision.stages.prefetch_related("steps", "checks"):
            group = [(f"stage:{stage.key}", _("the whole stage"))]
            self.targets[f"stage:{stage.key}"] = {"stage": stage}
            for kind, rows, field in (("step", stage.steps.all(), "step"), ("check", stage.checks.all(), "check_row")):
                for row in rows:
                    name = f"{kind}:{stage.key}/{row.key}"
                    self.targets[name] = {"stage": stage, field: row}
                    group.append((name, _step_label(row) if kind == "step" else row.title))
            for ref in dict.fromkeys(ref for step in stage.steps.all() for ref in step.parts if ref in parts):
                name = f"part:{stage.key}/{ref}"
                self.targets[name] = {"stage": stage, "part": parts[ref]}
                group.append((name, _part_label(ref)))
            choices.append((stage.title, group))
        choices += self._unnamed(revision, parts)
        self.fields["about"].choices = choices

    def _unnamed(self, revision, parts):
        """The group of parts that no step names: pinned to the first stage, so that builders read of them before
        they begin."""
        first, named = revision.stages.first(), {row["part"].ref for row in self.targets.values() if "part" in row}
        rest = [ref for ref in parts if ref not in named] if first else []
        self.targets |= {f"part:{first.key}/{ref}": {"stage": first, "part": parts[ref]} for ref in rest}
        group = [(f"part:{first.key}/{ref}", _part_label(ref)) for ref in rest]
        return [(_("Parts not named in any step"), group)] if group else []

    def target(self) -> dict:
        return self.targets[self.cleaned_data["about"]]

    def clean(self):
        super().clean()
        data = self.cleaned_data
        if data.get("about") and not self.revision.is_draft:
            is_again = Erratum.objects.filter(entry_key=data.get("entry_key"), correction__isnull=False).exists()
            self.correction = self.find_correction(self.revision, self.target().get("check_row"), is_again)
        return data


class HaltForm(forms.Form):
    stage = forms.ModelChoiceField(label=gettext_lazy("Stage"), queryset=None, empty_label=None)
    reason = forms.CharField(
        label=gettext_lazy("Reason"),
        max_length=300,
        help_text=gettext_lazy("Builders read this."),
        error_messages={"required": gettext_lazy("Give the reason: builders will ask.")},
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
            "builds_done": gettext_lazy("Minimum number of builds signed off"),
            "readings_each": gettext_lazy("Minimum number of builds that have read each check"),
            "first_pass": gettext_lazy(
                "Minimum share of builds with every reading in band at the first attempt, per stage (%)"
            ),
            "confidence": gettext_lazy("Confidence in that figure (%)"),
            "coverage": gettext_lazy("Minimum share of possible faults that the checks detect (%)"),
            "no_danger": gettext_lazy("No open danger reports"),
        }
        help_texts = {
            "first_pass": gettext_lazy("First-pass yield: every check of the stage in band at the first attempt."),
            "confidence": gettext_lazy("The higher the confidence, the more builds it takes. 90 is usual."),
            "coverage": gettext_lazy(
                "Weighted by how often each fault happens. The fault coverage page lists those missed."
            ),
        }

    def add(self, kit, person) -> ReleaseCriteria:
        return ReleaseCriteria.objects.create(kit=kit, by=person, **self.cleaned_data)


class DecisionForm(forms.Form):
    """What a decision on a finding or a snag may carry: figures or words for the draft, and the reason. Fields that
    were not sent are not written. `steps`: keys of steps whose words may come along, as step-KEY."""

    expected = forms.CharField(max_length=30, required=False)
    band = forms.CharField(max_length=30, required=False)
    low = forms.CharField(max_length=30, required=False, label=gettext_lazy("Band from"))
    high = forms.CharField(max_length=30, required=False, label=gettext_lazy("Band to"))
    at_least = forms.CharField(max_length=30, required=False, label=gettext_lazy("At least"))
    at_most = forms.CharField(max_length=30, required=False, label=gettext_lazy("At most"))
    title = forms.CharField(max_length=120, required=False)
    note = forms.CharField(max_length=20000, required=False)
    hints = forms.CharField(max_length=20000, required=False)
    text = forms.CharField(max_length=20000, required=False, label=gettext_lazy("Text of the step"))
    value = forms.CharField(max_length=30, required=False)
    intro = forms.CharField(max_length=20000, required=False, label=gettext_lazy("Introduction"))
    reason = forms.CharField(max_length=2000, required=False, label=gettext_lazy("Reason"))

    def __init__(self, data, *, steps=()):
        super().__init__(data)
        for key in steps:
            self.fields[f"step-{key}"] = forms.CharField(
                max_length=20000, required=False, label=_("Step %(key)s") % {"key": key}
            )

    def sent(self, names) -> dict[str, str]:
        """Of these fields, those that came with the post."""
        return {name: self.cleaned_data[name] for name in names if name in self.data and name in self.cleaned_data}

    def wrong(self) -> str:
        """Every error, each with its field's name, as one sentence after another."""
        labels = {name: self.fields[name].label or name.capitalize() for name in self.errors}
        return " ".join(f"{labels[name]}: {error}" for name, errors in self.errors.items() for error in errors)
