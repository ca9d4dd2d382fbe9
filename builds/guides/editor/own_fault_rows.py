"""The designer's own faults as a table of the editor."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.guides.editor.table_field import Column, TableField
from builds.guides.guide_file.plain import find_unstorable

BECOMES = ("open", "short", "cold", "leaky", "dead", "weak", "gassy", "heater", "pin 7 dry", "ht open", "1k8")


class FaultsField(TableField):
    """Its value is the [[fault]] tables of the guide file."""

    def __init__(self, **kwargs):
        columns = (
            Column("key", gettext_lazy("Short name")),
            Column("words", gettext_lazy("Description"), is_wide=True),
            Column("part", gettext_lazy("Part")),
            Column("becomes", gettext_lazy("Becomes"), suggestions=BECOMES),
            Column("weight", gettext_lazy("Weight")),
            Column("look", gettext_lazy("What to look for"), is_wide=True),
        )
        super().__init__(columns=columns, spare=1, **kwargs)

    def prepare_value(self, value):
        shown = [{key: f"{v:g}" if isinstance(v, float | int) else v for key, v in row.items()} for row in value or []]
        return super().prepare_value(shown)

    def clean(self, value):
        rows = [self._fault(row) for row in super().clean(value)]
        if wrong := find_unstorable(rows):
            raise forms.ValidationError(wrong, code="fault")
        return rows

    def _fault(self, row: dict) -> dict:
        filled = {key: text for key, text in row.items() if text}
        if "weight" in filled:
            try:
                weight = float(filled["weight"].replace(",", "."))
            except ValueError as error:
                message = _("The weight “%(value)s” is not a number, such as 1 or 0.5.") % {"value": filled["weight"]}
                raise forms.ValidationError(message, code="fault") from error
            filled["weight"] = int(weight) if weight.is_integer() else weight
        return filled
