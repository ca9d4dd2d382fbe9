"""Noting a part batch: which parts, which builds."""

import re

from django import forms

from builds.bench.models import Build
from checks.serials import natural

MOST_PARTS = 30


class BatchForm(forms.Form):
    """Parts by their names in the guide, and a run of serial numbers (or one)."""

    refs = forms.CharField(
        label="Parts",
        max_length=200,
        help_text="As the guide names them, e.g. R8, R11",
        error_messages={"required": "Name the parts, e.g. R8, R11."},
    )
    name = forms.CharField(
        label="Batch",
        max_length=60,
        help_text="Delivery, bag or date code",
        error_messages={"required": "Give the batch a name you will know again."},
    )
    first = forms.CharField(
        label="First build", max_length=30, error_messages={"required": "Give the first serial number."}
    )
    last = forms.CharField(label="Last build", max_length=30, required=False, help_text="Empty for one build only")
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, *args, revision, **kwargs):
        super().__init__(*args, **kwargs)
        self.revision = revision

    def clean_refs(self):
        known = {ref.casefold(): ref for ref in self.revision.parts.values_list("ref", flat=True)}
        typed = [word for word in re.split(r"[,;\s]+", self.cleaned_data["refs"]) if word]
        strange = [word for word in typed if word.casefold() not in known]
        if strange:
            raise forms.ValidationError(f"The guide's parts list has no {', '.join(strange[:5])}.", code="unknown")
        if not typed or len(typed) > MOST_PARTS:
            raise forms.ValidationError(f"Name one part at least and {MOST_PARTS} at most.", code="count")
        return list(dict.fromkeys(known[word.casefold()] for word in typed))

    def clean(self):
        data = super().clean()
        serials = sorted(Build.objects.filter(revision=self.revision).values_list("serial", flat=True), key=natural)
        ends = [name for name in ("first", "last") if data.get(name) and data[name] not in serials]
        for name in ends:
            self.add_error(
                name, forms.ValidationError("No build of this revision has that serial number.", code="unknown")
            )
        if ends or self.errors:
            return data
        low, high = serials.index(data["first"]), serials.index(data.get("last") or data["first"])
        if high < low:
            self.add_error("last", forms.ValidationError("The last build comes before the first.", code="order"))
            return data
        data["serials"] = serials[low : high + 1]
        self._refuse_two(data)
        return data

    def _refuse_two(self, data):
        """A part of a build is of one batch."""
        for batch in self.revision.part_batches.prefetch_related("builds"):
            both = sorted({b.serial for b in batch.builds.all()} & set(data["serials"]), key=natural)
            if both and set(batch.refs) & set(data["refs"]):
                self.add_error(
                    "first",
                    forms.ValidationError(
                        f"{', '.join(both[:4])}{' and more' if len(both) > 4 else ''} already have “{batch.name}” for "
                        f"{', '.join(ref for ref in data['refs'] if ref in batch.refs)}. Take that note away first.",
                        code="taken",
                    ),
                )
