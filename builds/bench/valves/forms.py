"""Noting a valve."""

from django import forms
from django.utils.translation import gettext_lazy as _

from builds.bench.models import FittedValve
from builds.bench.readings.entry_keys import EntryForm

Why = FittedValve.Why


class ValveForm(EntryForm):
    """What is printed on a valve, and why it sits there now. `is_live`: power is on record, so nothing is swapped."""

    asks_at = "make"
    ref = forms.ChoiceField(label=_("Socket"))
    make = forms.CharField(
        label=_("Make"),
        max_length=60,
        help_text=_("As printed on the glass or the box. Type “unmarked” if there is nothing."),
        error_messages={"required": _("Type the make, or “unmarked”.")},
    )
    code = forms.CharField(
        label=_("Date code"), max_length=40, required=False, help_text=_("Letters and figures near the pins, if any.")
    )
    why = forms.ChoiceField(label=_("Reason"), choices=Why.choices, required=False)

    def __init__(self, *args, sockets, known, is_live=False, **kwargs):
        super().__init__(*args, **kwargs)
        self.known, self.is_live = known, is_live
        self.fields["ref"].choices = [(p.ref, f"{p.ref}, {p.detail.get('type') or p.kind}") for p in sockets]
        empty = [p.ref for p in sockets if p.ref not in known]
        if empty and self.initial.get("ref") not in [p.ref for p in sockets]:
            self.initial["ref"] = empty[0]

    def clean_make(self):
        make = " ".join(self.cleaned_data["make"].split())
        if not any(c.isalnum() for c in make):
            raise forms.ValidationError(_("Type the make, or “unmarked”."), code="empty")
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
                    _("%(socket)s already has a valve noted. Choose why you note another one."),
                    code="why",
                    params={"socket": data.get("ref")},
                ),
            )
        elif self.is_live and why != Why.SLIP:
            self.add_error(
                "why",
                forms.ValidationError(
                    _("The kit has had power since it was last made safe. Make it safe before you swap a valve."),
                    code="live",
                ),
            )
        return data
