"""The positions of a stage's controls as rows of the editor: a control, and where it is set."""

import re

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.guides.editor.table_field import Column, TableField

POSITION = re.compile(r"[0-9]{1,4}(?:[.,][0-9]{1,9})?|[.,][0-9]{1,9}")


class SettingsField(TableField):
    """Its value is {"RV1": 1.0}, or None where no control is named."""

    def __init__(self, **kwargs):
        columns = (
            Column("control", gettext_lazy("Control")),
            Column("position", gettext_lazy("Position, 0 to 1")),
        )
        super().__init__(columns=columns, **kwargs)

    def prepare_value(self, value):
        if isinstance(value, dict):
            value = [{"control": ref, "position": f"{share:g}"} for ref, share in value.items()]
        return super().prepare_value(value)

    def clean(self, value):
        settings: dict = {}
        errors: list = []
        for row in super().clean(value):
            try:
                settings |= _setting(row, settings)
            except forms.ValidationError as error:
                errors.append(error)
        if errors:
            raise forms.ValidationError(errors)
        return settings or None


def _setting(row: dict, others: dict) -> dict[str, float]:
    ref, typed = row["control"], row["position"]
    if not ref:
        raise _wrong(_("Name the control that is set to %(position)s."), position=typed)
    if ref in others:
        raise _wrong(_("%(name)s is entered more than once."), name=ref)
    if not POSITION.fullmatch(typed):
        message = _("%(ref)s: “%(typed)s” is not a position. Enter a number from 0 to 1, such as 0.5.")
        raise _wrong(message, ref=ref, typed=typed)
    return {ref: float(typed.replace(",", "."))}


def _wrong(message: str, **params) -> forms.ValidationError:
    return forms.ValidationError(message % {key: text[:30] for key, text in params.items()}, code="settings")
