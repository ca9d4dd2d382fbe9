"""Forms of the editor: the guide's rows, with figures kept as typed and checked by the same rules as the guide file."""

from django import forms
from django.utils.translation import gettext as _

from builds.accounts.cautions import CAUTIONS
from builds.guides.circuit.own_faults import own_faults
from builds.guides.circuit.specs import specs_or_none
from builds.guides.circuit.stored import left_to_model
from builds.guides.control_settings import HELP, SettingsField
from builds.guides.editor import field_texts as said
from builds.guides.editor.fields import FaultsField, HintsField, ListField, MarkerField, TomlField
from builds.guides.editor.whole_guide import judge_row
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import rules, shape
from builds.guides.models import MEASURES, Check, Part, Point, Revision, Stage, Step
from builds.ui.messages.quantities import measure_label
from checks.circuit import part_from_mapping
from checks.errors import ChecksError


class RowForm(said.Grouped, forms.ModelForm):
    """A row that the guide file's own rules also judge."""

    table = ""

    def as_row(self, data) -> dict:
        return {k: v for k, v in data.items() if v not in ("", None, [], {})}

    def field_of(self, key: str) -> str | None:
        """The form's field for a key of the guide file; None for what the row as a whole has."""
        return key if key in self.fields else None

    def clean(self):
        data = super().clean()
        if self.errors:
            return data
        judged = judge_row(self.table, self.as_row(data), self.instance)
        for problem in judged.own:
            field = self.field_of(problem.place.key)
            message = problem.message if field else f"{problem.place.key}: {problem.message}".removeprefix(": ")
            self.add_error(field, message)
        for problem in judged.dangers:
            self.add_error(None, f"{problem.label}: {problem.message}")
        return data

    def validate_unique(self):
        """Uniqueness within the revision is asked here, where the parent is known."""
        field = {"part": "ref", "point": "node"}.get(self.table, "key")
        value = self.cleaned_data.get(field)
        rows = self.siblings.filter(**{field: value}).exclude(pk=self.instance.pk)
        if value and field not in self.errors and (rows.exists() or self._is_taken_in_stage()):
            self.add_error(field, _("“%(name)s” is there already. Choose another name.") % {"name": value})

    def _is_taken_in_stage(self) -> bool:
        """Does a check have the key of this step, or a step the key of this check? Their order names them by it."""
        other = {"step": "checks", "check": "steps"}.get(self.table)
        return bool(other) and getattr(self.instance.stage, other).filter(key=self.cleaned_data.get("key")).exists()

    def __init__(self, *args, siblings=None, **kwargs):
        self.siblings = siblings
        super().__init__(*args, **kwargs)
        if "picture" in self.fields:
            self.fields["picture"] = self._picture_field()

    def _picture_field(self):
        revision = getattr(self.instance, "revision", None) or self.instance.stage.revision
        names = [picture.name for picture in revision.pictures.all()]
        kept = self.instance.picture
        return forms.ChoiceField(
            required=False,
            choices=[
                ("", "none"),
                *((name, name) for name in names if name != kept),
                *([(kept, kept)] if kept else []),
            ],
            help_text="" if names else "This draft has no pictures yet. Add one at the foot of its page.",
            error_messages={"invalid_choice": "This draft has no picture %(value)s. Add the picture first."},
        )


class HeadForm(said.Grouped, forms.ModelForm):
    taps = ListField(
        required=False,
        label="Taps of the mains transformer",
        help_text="The mains voltages its primary takes, between commas: 115, 230.",
    )
    own_faults = FaultsField(required=False, label="Faults you know of", help_text=said.FAULTS_HELP)

    class Meta:
        model = Revision
        fields = ["name", "summary", "mains_volts", "mains_hertz", "taps", "own_faults"]
        labels, help_texts = said.GUIDE_LABELS, said.GUIDE_HELP
        widgets = {
            "mains_volts": forms.Select(choices=[(v, f"{v} V") for v in (100, 110, 115, 120, 127, 220, 230, 240)]),
            "mains_hertz": forms.Select(choices=[(50, "50 Hz"), (60, "60 Hz")]),
        }

    def clean_own_faults(self):
        rows = self.cleaned_data["own_faults"]
        try:
            own_faults(specs_or_none(load_guide(self.instance)), rows)
        except ChecksError as error:
            raise forms.ValidationError(str(error), code="fault") from error
        return rows or None

    def clean_taps(self):
        try:
            taps = [int(t) for t in self.cleaned_data["taps"]]
        except ValueError:
            raise forms.ValidationError("Taps are whole volts between commas, such as 115, 230.", code="taps") from None
        for _key, message in rules.tap_rules(taps):
            raise forms.ValidationError(message[0].upper() + message[1:], code="taps")
        return taps


class StageForm(RowForm):
    table = "stage"
    groups = said.STAGE_GROUPS
    not_fitted = ListField(
        required=False, label="Parts not fitted yet", help_text="References between commas, such as V1, V2."
    )
    cautions = forms.MultipleChoiceField(
        required=False,
        choices=[(key, title) for key, (title, _words) in CAUTIONS.items()],
        widget=forms.CheckboxSelectMultiple,
    )

    supply_lamp = forms.CharField(
        required=False,
        max_length=20,
        label="Brought up through a lamp of",
        help_text="A series lamp of the mains voltage, such as 60 W.",
    )
    supply_volts = forms.CharField(
        required=False,
        max_length=20,
        label="Or fed at a reduced mains of",
        help_text="Such as 115 V from a variable transformer. Leave both blank for the full mains.",
    )
    settings = SettingsField(required=False, label="Controls set to", help_text=HELP)
    field_order = [
        "key",
        "title",
        "intro",
        "minutes",
        "power",
        "supply_lamp",
        "supply_volts",
        "settings",
        "not_fitted",
        "cautions",
        "gate",
    ]

    class Meta:
        model = Stage
        fields = ["key", "title", "intro", "power", "settings", "not_fitted", "cautions", "gate", "minutes"]
        labels, help_texts = said.STAGE_LABELS, said.STAGE_HELP
        widgets = {"intro": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name, value in (self.instance.supply or {}).items():
            self.fields[f"supply_{name}"].initial = value

    def as_row(self, data):
        supply = {
            name: data[f"supply_{name}"].strip() for name in ("lamp", "volts") if data.get(f"supply_{name}", "").strip()
        }
        rest = {key: value for key, value in data.items() if not key.startswith("supply_")}
        self.instance.supply = supply
        return super().as_row(rest | {"supply": supply})

    def field_of(self, key):
        return "supply_lamp" if key == "supply" else super().field_of(key)


class StepForm(RowForm):
    table = "step"
    parts = ListField(required=False, label="Parts it uses", help_text="References between commas, such as R8, R9.")

    class Meta:
        model = Step
        fields = ["key", "text", "hands_in", "parts", "picture", "photo"]
        labels, help_texts = said.STEP_LABELS, said.STEP_HELP
        widgets = {"text": forms.Textarea(attrs={"rows": 6})}


class CheckForm(RowForm):
    table = "check"
    marker = MarkerField(required=False, label="Where on the picture", help_text=said.MARKER_HELP)
    hints = HintsField(required=False, label="Your hints", help_text=said.HINTS_HELP)
    groups = said.CHECK_GROUPS

    class Meta:
        model = Check
        fields = [
            "key",
            "title",
            "measure",
            "red",
            "black",
            "note",
            "expected",
            "figure_from",
            "prototype",
            "band",
            "low",
            "high",
            "at_least",
            "at_most",
            "stop_above",
            "stop_below",
            "mains_exponent",
            "source_resistance",
            "through",
            "picture",
            "marker",
            "optional",
            "hints",
        ]
        labels, help_texts = said.CHECK_LABELS, said.CHECK_HELP
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["measure"].choices = [("", "choose"), *((m, measure_label(m)) for m in MEASURES)]

    def as_row(self, data):
        row = super().as_row(data)
        hints = {"hint": row.pop("hints")} if "hints" in row else {}
        return row | hints

    def field_of(self, key):
        return "hints" if key == "hint" else super().field_of(key)


class PartForm(RowForm):
    table = "part"
    kind = forms.ChoiceField(choices=[(k, k) for k in shape.KINDS])
    detail = TomlField(required=False, label="Joins, pins and ratings", help_text=said.DETAIL_HELP)

    class Meta:
        model = Part
        fields = [*shape.PART_COLUMNS, "detail"]
        labels, help_texts = said.PART_LABELS, said.PART_HELP

    def as_row(self, data):
        return super().as_row({k: v for k, v in data.items() if k != "detail"}) | (data.get("detail") or {})

    def field_of(self, key):
        return super().field_of(key) or "detail"

    def clean(self):
        data = super().clean()
        if not self.errors and left_to_model(self.instance.revision):
            for field, message in self._as_circuit(self.as_row(data)):
                self.add_error(field, message)
        return data

    def _as_circuit(self, row):
        """A guide that leaves checks to its circuit takes no part that the circuit cannot use; any other may."""
        try:
            part_from_mapping(row)
        except ChecksError as error:
            message = str(error).removeprefix(f"{row['ref']}: ")
            yield (
                (error.argument if error.argument in self.fields else "detail"),
                f"{message} Some checks are left to the circuit.",
            )


class PointForm(RowForm):
    table = "point"
    marker = MarkerField(required=False, label="Where on the picture", help_text=said.MARKER_HELP)

    class Meta:
        model = Point
        fields = ["node", "words", "picture", "marker"]
        labels, help_texts = said.POINT_LABELS, said.POINT_HELP


FORMS = {"stage": StageForm, "step": StepForm, "check": CheckForm, "part": PartForm, "point": PointForm}
