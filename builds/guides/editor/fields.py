"""Fields of the editor's forms: lists between commas, hints a line each, places on a picture."""

from django import forms
from django.utils.translation import gettext as _

from builds.guides.editor.hint_lines import from_lines, to_lines
from builds.guides.guide_file import rules, shape
from builds.ui.errors import SiteError


class ListField(forms.CharField):
    """Words between commas, kept as a list."""

    def prepare_value(self, value):
        return ", ".join(str(v) for v in value) if isinstance(value, list) else value

    def to_python(self, value):
        return [item.strip() for item in (value or "").split(",") if item.strip()]


class MarkerField(forms.CharField):
    """A place on a picture: two fractions of its width and height, kept as a list; empty for none."""

    def prepare_value(self, value):
        return ", ".join(f"{v:g}" for v in value) if isinstance(value, list) else value

    def to_python(self, value):
        numbers = [word for word in (value or "").replace(";", ",").split(",") if word.strip()]
        try:
            place = [float(word) for word in numbers]
        except ValueError:
            place = [2.0]
        if place and (len(place) != 2 or not all(0 <= v <= 1 for v in place)):
            message = _("This is not a place on a picture. Give two fractions from 0 to 1, such as 0.4, 0.2.")
            raise forms.ValidationError(message, code="marker")
        return place


class HintsField(forms.CharField):
    """The designer's hints, a line each: "low: F2 is blown."."""

    widget = forms.Textarea(attrs={"rows": 4})

    def prepare_value(self, value):
        return to_lines(value) if isinstance(value, list) else value

    def to_python(self, value):
        try:
            hints = from_lines(value or "")
        except SiteError as error:
            raise forms.ValidationError(str(error), code="hint") from error
        for hint in hints:
            wrong = list(rules.keys_and_types("hint", hint, shape.HINT))
            if wrong:
                raise forms.ValidationError(" ".join(f"{k}: {m}" for k, m in wrong), code="hint")
        return hints
