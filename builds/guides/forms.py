"""Forms of the editor: the guide's rows, with figures kept as typed and checked by the same rules as the guide file."""
import tomllib

import tomlkit
from django import forms

from builds.guides.guide_file import rules, shape
from builds.guides.models import Check, Part, Point, Revision, Stage, Step


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
            raise forms.ValidationError(f"This is not TOML: {error}. Write it as in the guide file.", code="toml") from error


class HintsField(TomlField):
    """The designer's hints, as [[hint]] tables."""

    def prepare_value(self, value):
        return tomlkit.dumps({"hint": value}) if isinstance(value, list) and value else "" if value == [] else value

    def to_python(self, value):
        hints = super().to_python(value).get("hint", [])
        for hint in hints if isinstance(hints, list) else [hints]:
            wrong = list(rules.keys_and_types("hint", hint, shape.HINT)) if isinstance(hint, dict) else [("hint", "is wrong")]
            if wrong:
                raise forms.ValidationError("; ".join(f"{k} {m}" for k, m in wrong), code="hint")
        return hints


class RowForm(forms.ModelForm):
    """A row that the guide file's own rules also judge."""

    table = ""

    def as_row(self, data) -> dict:
        return {k: v for k, v in data.items() if v not in ("", None, [], {})}

    def extra_rules(self, row):
        return ()

    def clean(self):
        data = super().clean()
        if not self.errors:
            for key, message in self.extra_rules(self.as_row(data)):
                self.add_error(key if key in self.fields else None, f"{key} {message}" if key not in self.fields
                               else message[0].upper() + message[1:])
        return data

    def clean_picture(self):
        name = self.cleaned_data["picture"].strip()
        revision = getattr(self.instance, "revision", None) or self.instance.stage.revision
        if name and not revision.pictures.filter(name=name).exists():
            raise forms.ValidationError(f"This draft has no picture {name}. Add the picture first.", code="picture")
        return name

    def validate_unique(self):
        """Uniqueness within the revision is asked here, where the parent is known."""
        field = {"part": "ref", "point": "node"}.get(self.table, "key")
        rows = self.siblings.filter(**{field: self.cleaned_data.get(field)}).exclude(pk=self.instance.pk)
        if self.cleaned_data.get(field) and rows.exists():
            self.add_error(field, "This is there already; it must be the only one.")

    def __init__(self, *args, siblings=None, **kwargs):
        self.siblings = siblings
        super().__init__(*args, **kwargs)


class HeadForm(forms.ModelForm):
    taps = ListField(required=False, help_text="Primary taps in volts, between commas.")

    class Meta:
        model = Revision
        fields = ["name", "summary", "mains_volts", "mains_hertz", "taps"]
        widgets = {"mains_volts": forms.Select(choices=[(v, f"{v} V") for v in (100, 110, 115, 120, 127, 220, 230, 240)]),
                   "mains_hertz": forms.Select(choices=[(50, "50 Hz"), (60, "60 Hz")])}

    def clean_taps(self):
        try:
            return [int(t) for t in self.cleaned_data["taps"]]
        except ValueError:
            raise forms.ValidationError("Taps are whole volts between commas, such as 115, 230.", code="taps") from None


class StageForm(RowForm):
    table = "stage"
    not_fitted = ListField(required=False, help_text="Part references between commas, such as V1, V2.")
    cautions = forms.MultipleChoiceField(required=False, choices=[(c, c) for c in shape.CHOICES["cautions"]],
                                         widget=forms.CheckboxSelectMultiple)

    class Meta:
        model = Stage
        fields = ["key", "title", "intro", "power", "not_fitted", "cautions", "gate", "minutes"]

    def extra_rules(self, row):
        return rules.stage_rules(row)


class StepForm(RowForm):
    table = "step"
    parts = ListField(required=False, help_text="Part references between commas.")

    class Meta:
        model = Step
        fields = ["key", "text", "parts", "picture", "photo"]


class CheckForm(RowForm):
    table = "check"
    hints = HintsField(required=False, help_text='Each as [[hint]], when = "low" (or "high", "off"), text = "…".')

    class Meta:
        model = Check
        fields = ["key", "title", "measure", "red", "black", "note", "expected", "figure_from", "prototype", "band", "low",
                  "high", "at_least", "at_most", "stop_above", "stop_below", "mains_exponent", "source_resistance",
                  "through", "picture", "optional", "hints"]

    def extra_rules(self, row):
        return rules.check_rules(row)


class PartForm(RowForm):
    table = "part"
    kind = forms.ChoiceField(choices=[(k, k) for k in shape.KINDS])
    detail = TomlField(required=False, label="Joins, pins and the rest",
                       help_text='As in the guide file: joins = ["v2.cathode", "chassis"], power = "3W".')

    class Meta:
        model = Part
        fields = [*shape.PART_COLUMNS, "detail"]

    def as_row(self, data):
        return super().as_row({k: v for k, v in data.items() if k != "detail"}) | (data.get("detail") or {})

    def extra_rules(self, row):
        known = dict(shape.PART.items())
        for key, message in rules.keys_and_types("part", row, known):
            yield (key if key in self.fields else "detail"), f"{key} {message}"
        for key, message in rules.part_rules(row):
            yield (key if key in self.fields else "detail"), f"{key} {message}"


class PointForm(RowForm):
    table = "point"

    class Meta:
        model = Point
        fields = ["node", "words", "picture"]


FORMS = {"stage": StageForm, "step": StepForm, "check": CheckForm, "part": PartForm, "point": PointForm}
