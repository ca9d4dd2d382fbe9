"""The signal a check is read under as one row of the editor."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.guides.editor.table_field import Column, TableField
from checks.circuit.netlist.signal import KEYS, RIPPLE


class SignalField(TableField):
    """Its value is the guide file's {"into": "in.tip", "level": "100 mV", …}, or None."""

    def __init__(self, **kwargs):
        columns = (
            Column("into", gettext_lazy("Fed into"), is_wide=True),
            Column("level", gettext_lazy("Level")),
            Column("frequency", gettext_lazy("Frequency")),
            Column("load", gettext_lazy("Load")),
            Column("load_at", gettext_lazy("Load connected to"), is_wide=True),
            Column("of", gettext_lazy("Instead of a tone"), ((RIPPLE, gettext_lazy("ripple of the supply")),)),
        )
        super().__init__(columns=columns, spare=0, **kwargs)
        self.widget.is_single = True

    def prepare_value(self, value):
        return super().prepare_value([value] if isinstance(value, dict) else value) or super().prepare_value([{}])

    def clean(self, value):
        rows = super().clean(value)
        if len(rows) > 1:
            raise forms.ValidationError(_("A check is read under one signal. Keep one row."), code="signal")
        return {key: rows[0][key] for key in KEYS if rows[0][key]} if rows else None
