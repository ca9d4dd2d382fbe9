"""Noting a valve."""

from django import forms

from builds.bench.models import FittedValve
from builds.bench.readings.forms import EntryForm

Why = FittedValve.Why


class ValveForm(EntryForm):
    """What is printed on a valve, and why it sits there now."""

    ref = forms.ChoiceField(label="Socket")
    make = forms.CharField(
        label="Make",
        max_length=60,
        help_text="As printed on the glass or the box. Write “unmarked” if nothing is.",
        error_messages={"required": "Write the make, or “unmarked”."},
    )
    code = forms.CharField(
        label="Date code", max_length=40, required=False, help_text="Letters and figures near the pins, if any."
    )
    why = forms.ChoiceField(label="Why", choices=Why.choices, required=False)

    def __init__(self, *args, sockets, known, **kwargs):
        super().__init__(*args, **kwargs)
        self.known = known
        self.fields["ref"].choices = [(p.ref, f"{p.ref}, {p.detail.get('type') or p.kind}") for p in sockets]
        empty = [p.ref for p in sockets if p.ref not in known]
        if empty and self.initial.get("ref") not in [p.ref for p in sockets]:
            self.initial["ref"] = empty[0]

    def clean_make(self):
        make = " ".join(self.cleaned_data["make"].split())
        if not any(c.isalnum() for c in make):
            raise forms.ValidationError("Write the make, or “unmarked”.", code="empty")
        return make

    def clean(self):
        data = super().clean()
        first, why = data.get("ref") not in self.known, data.get("why")
        if first:
            data["why"] = Why.FIRST  # whatever was chosen: there is nothing to swap yet
        elif why in ("", None, Why.FIRST):
            self.add_error(
                "why",
                forms.ValidationError(
                    f"{data.get('ref')} already has a valve noted: say whether you swapped it, or are correcting a "
                    f"slip.",
                    code="why",
                ),
            )
        return data
