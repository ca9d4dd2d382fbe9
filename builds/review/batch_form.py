"""Saving a part batch: which parts, which builds."""

import re

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from builds.bench.models import Build
from checks.serials import natural

MOST_PARTS = 30


class BatchForm(forms.Form):
    """Parts by their names in the guide, and a run of serial numbers (or one)."""

    refs = forms.CharField(
        label=gettext_lazy("Parts"),
        max_length=200,
        help_text=gettext_lazy("As the guide names them, e.g. R8, R11"),
        error_messages={"required": gettext_lazy("Name the parts, e.g. R8, R11.")},
    )
    name = forms.CharField(
        label=gettext_lazy("Batch"),
        max_length=60,
        help_text=gettext_lazy("Delivery, bag or date code"),
        error_messages={"required": gettext_lazy("Give the batch a name you will recognise.")},
    )
    first = forms.CharField(
        label=gettext_lazy("First build"),
        max_length=30,
        error_messages={"required": gettext_lazy("Give the first serial number.")},
    )
    last = forms.CharField(
        label=gettext_lazy("Last build"),
        max_length=30,
        required=False,
        help_text=gettext_lazy("Leave empty for one build"),
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)

    def __init__(self, *args, revision, **kwargs):
        super().__init__(*args, **kwargs)
        self.revision = revision

    def clean_refs(self):
        known = {ref.casefold(): ref for ref in self.revision.parts.values_list("ref", flat=True)}
        typed = [word for word in re.split(r"[,;\s]+", self.cleaned_data["refs"]) if word]
        strange = [word for word in typed if word.casefold() not in known]
        if strange:
            message = _("The guide’s parts list has no %(parts)s.") % {"parts": ", ".join(strange[:5])}
            raise forms.ValidationError(message, code="unknown")
        if not typed or len(typed) > MOST_PARTS:
            message = _("Name between 1 and %(most)s parts.") % {"most": MOST_PARTS}
            raise forms.ValidationError(message, code="count")
        return list(dict.fromkeys(known[word.casefold()] for word in typed))

    def clean(self):
        data = super().clean()
        serials = sorted(Build.objects.filter(revision=self.revision).values_list("serial", flat=True), key=natural)
        ends = [name for name in ("first", "last") if data.get(name) and data[name] not in serials]
        for name in ends:
            self.add_error(
                name, forms.ValidationError(_("No build of this revision has that serial number."), code="unknown")
            )
        if ends or self.errors:
            return data
        low, high = serials.index(data["first"]), serials.index(data.get("last") or data["first"])
        if high < low:
            self.add_error("last", forms.ValidationError(_("The last build comes before the first."), code="order"))
            return data
        data["serials"] = serials[low : high + 1]
        self._refuse_two(data)
        return data

    def _refuse_two(self, data):
        """A part of a build is of one batch."""
        for batch in self.revision.part_batches.prefetch_related("builds"):
            both = sorted({b.serial for b in batch.builds.all()} & set(data["serials"]), key=natural)
            parts = [ref for ref in data["refs"] if ref in batch.refs]
            if both and parts:
                self.add_error("first", forms.ValidationError(_taken(both, batch.name, parts), code="taken"))


def _taken(serials, batch: str, parts) -> str:
    message = ngettext(
        "%(serials)s already has “%(batch)s” for %(parts)s. Delete that batch first.",
        "%(serials)s already have “%(batch)s” for %(parts)s. Delete that batch first.",
        len(serials),
    )
    shown, more = ", ".join(serials[:4]), len(serials) - 4
    if more > 0:
        shown = _("%(serials)s and %(more)s more") % {"serials": shown, "more": more}
    return message % {"serials": shown, "batch": batch, "parts": ", ".join(parts)}
