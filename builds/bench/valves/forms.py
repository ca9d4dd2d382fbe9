"""Noting a valve."""

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from builds.bench.models import FittedValve
from builds.bench.readings.entry_keys import EntryForm
from builds.guides.alternatives import permitted_types
from builds.ui.formatting import listed

Why = FittedValve.Why


class ValveForm(EntryForm):
    """What is printed on a valve, and why it sits there now. `is_live`: power is on record, so nothing is swapped."""

    asks_at = "make"
    ref = forms.ChoiceField(label=_("Socket"))
    type_ = forms.ChoiceField(
        label=_("Type"),
        required=False,
        help_text=_("As printed on the valve. Fit no type that is not in this list; report a snag instead."),
        error_messages={"required": _("Choose the type printed on the valve.")},
    )
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
        fields: Any = self.fields
        self.types = {part.ref: permitted_types(part) for part in sockets}
        if any(len(types) > 1 for types in self.types.values()):
            groups = [(ref, [(type_, type_) for type_ in types]) for ref, types in self.types.items()]
            fields["type_"].choices = [("", _("Choose the type")), *groups]
            self.fields["type_"].required = all(len(types) > 1 for types in self.types.values())
        else:
            del self.fields["type_"]
        fields["ref"].choices = [(p.ref, f"{p.ref}, {p.detail.get('type') or p.kind}") for p in sockets]
        empty = [p.ref for p in sockets if p.ref not in known]
        if empty and self.initial.get("ref") not in [p.ref for p in sockets]:
            self.initial["ref"] = empty[0]
        self._offer_reasons(empty)

    def _offer_reasons(self, empty: list[str]) -> None:
        """Where a valve is noted already, another one is never the first, and nobody's reason is chosen for them."""
        why: Any = self.fields["why"]
        is_first = self.initial.get("ref") in empty
        reasons = [(value, label) for value, label in Why.choices if empty or value != Why.FIRST]
        why.choices = [("", _("Choose the reason")), *reasons]
        why.required = not empty
        self.initial.setdefault("why", Why.FIRST if is_first else "")

    def clean_make(self):
        make = " ".join(self.cleaned_data["make"].split())
        if not any(c.isalnum() for c in make):
            raise forms.ValidationError(_("Type the make, or “unmarked”."), code="empty")
        return make

    def _clean_type(self, data: dict) -> None:
        """The type of a socket that may hold several is asked for; the guide's own is kept as none."""
        types, typed = self.types.get(data.get("ref", ""), ["", ""]), data.get("type_")
        if len(types) == 1 and not typed:
            typed = types[0]
        if typed not in types:
            self.add_error("type_", forms.ValidationError(_permitted(data.get("ref", ""), types), code="type"))
        data["type_"] = "" if typed == types[0] else typed

    def clean(self):
        super().clean()
        data = self.cleaned_data
        if "ref" in data and "type_" in self.fields:
            self._clean_type(data)
        first, why = data.get("ref") not in self.known, data.get("why")
        if first:
            data["why"] = Why.FIRST  # whatever was chosen: there is nothing to swap yet
        elif why in ("", None, Why.FIRST):
            self.errors.pop("why", None)  # of the field alone: one sentence says it better
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


def _permitted(ref: str, types: list[str]) -> str:
    return gettext("Choose the type printed on the valve. %(socket)s takes %(types)s.") % {
        "socket": ref,
        "types": listed(types, alternatives=True),
    }
