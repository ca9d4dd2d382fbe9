"""Fields of the editor's forms: lists between commas, rows written as in the guide file, places on a picture."""

import tomllib

import tomlkit
from django import forms
from django.utils.translation import gettext as _

from builds.guides.editor.hint_lines import from_lines, to_lines
from builds.guides.guide_file import rules, shape
from builds.guides.guide_file.plain import odd
from checks.errors import ChecksError


class ListField(forms.CharField):
    """Words between commas, kept as a list."""

    def prepare_value(self, value):
        return ", ".join(str(v) for v in value) if isinstance(value, list) else value

    def to_python(self, value):
        return [item.strip() for item in (value or "").split(",") if item.strip()]


class TomlField(forms.CharField):
    """The row's other keys, written as in the guide file."""

    widget = forms.Textarea(attrs={"rows": 6, "class": "code", "spellcheck": "false"})

    def prepare_value(self, value):
        return tomlkit.dumps(value) if isinstance(value, dict) else value

    def to_python(self, value):
        try:
            return tomllib.loads(value or "")
        except tomllib.TOMLDecodeError as error:
            message = _("This cannot be read: %(error)s. Write it as the example shows.") % {"error": error}
            raise forms.ValidationError(message, code="toml") from error
        except (RecursionError, ValueError) as error:
            raise forms.ValidationError(
                _("A number here is too large, or lists are nested too deeply."), code="toml"
            ) from error


class MarkerField(forms.CharField):
    """A place on a picture: two fractions of its width and height, kept as a list; empty for none."""

    def prepare_value(self, value):
        return ", ".join(f"{v:g}" for v in value) if isinstance(value, list) else value

    def to_python(self, value):
        words = [word for word in (value or "").replace(";", ",").split(",") if word.strip()]
        try:
            place = [float(word) for word in words]
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
        except ChecksError as error:
            raise forms.ValidationError(str(error), code="hint") from error
        for hint in hints:
            wrong = list(rules.keys_and_types("hint", hint, shape.HINT))
            if wrong:
                raise forms.ValidationError(" ".join(f"{k}: {m}" for k, m in wrong), code="hint")
        return hints


class FaultsField(TomlField):
    """The designer's own faults, as [[fault]] tables."""

    def prepare_value(self, value):
        return tomlkit.dumps({"fault": value}) if isinstance(value, list) and value else value or ""

    def to_python(self, value):
        rows = super().to_python(value).get("fault", [])
        rows = rows if isinstance(rows, list) else [rows]
        if wrong := odd(rows) or self._not_tables(rows):
            raise forms.ValidationError(wrong, code="fault")
        return rows

    def _not_tables(self, rows) -> str:
        is_good = all(isinstance(row, dict) for row in rows)
        return "" if is_good else _("Each fault begins with a line [[fault]], as the example shows.")
