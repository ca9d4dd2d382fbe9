"""Forms of the editor: the guide's rows, with figures kept as typed and checked by the same rules as the guide file."""

import re

from django import forms
from django.utils.translation import gettext as _

from builds.accounts.cautions import CAUTIONS
from builds.guides.circuit.own_faults import own_faults
from builds.guides.circuit.specs import build_mapping, specs_or_none
from builds.guides.circuit.stored import left_to_model
from builds.guides.editor import field_texts as texts
from builds.guides.editor import figure_fields, part_fields, video_fields
from builds.guides.editor.fields import HintsField, ListField, MarkerField
from builds.guides.editor.own_fault_rows import FaultsField
from builds.guides.editor.part_detail import Wrong, to_detail, to_fields
from builds.guides.editor.row_form import RowForm
from builds.guides.editor.setting_rows import SettingsField
from builds.guides.editor.signal_fields import SignalField
from builds.guides.editor.video_fields import VideoFields, video_table, without_video
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import rules, shape
from builds.guides.models import Check, Part, Point, Revision, Stage, Step
from builds.ui.messages.errors import message_for
from builds.ui.messages.parts_list import part_message
from checks.circuit import part_from_mapping
from checks.errors import ChecksError


class HeadForm(texts.Grouped, forms.ModelForm):
    taps = ListField(
        required=False,
        label=texts.TAPS_LABEL,
        help_text=texts.TAPS_HELP,
    )
    own_faults = FaultsField(label=texts.FAULTS_LABEL, help_text=texts.FAULTS_HELP)

    class Meta:
        model = Revision
        fields = ["name", "summary", "mains_volts", "mains_hertz", "taps", "own_faults"]
        labels, help_texts = texts.GUIDE_LABELS, texts.GUIDE_HELP
        widgets = {
            "mains_volts": forms.Select(choices=[(v, f"{v} V") for v in (100, 110, 115, 120, 127, 220, 230, 240)]),
            "mains_hertz": forms.Select(choices=[(50, "50 Hz"), (60, "60 Hz")]),
        }

    def clean_own_faults(self):
        rows = self.cleaned_data["own_faults"]
        try:
            own_faults(specs_or_none(load_guide(self.instance)), rows)
        except ChecksError as error:
            raise forms.ValidationError(message_for(error), code="fault") from error
        return rows or None

    def clean_taps(self):
        try:
            taps = [int(t) for t in self.cleaned_data["taps"]]
        except ValueError:
            message = _("Taps are whole volts separated by commas, such as 115, 230.")
            raise forms.ValidationError(message, code="taps") from None
        for _key, message in rules.tap_rules(taps):
            raise forms.ValidationError(message, code="taps")
        return taps


class StageForm(VideoFields, RowForm):
    table = "stage"
    groups = (*texts.STAGE_GROUPS, video_fields.GROUP)
    folded = (video_fields.GROUP[0],)
    not_fitted = ListField(required=False, label=texts.NOT_FITTED_LABEL, help_text=texts.NOT_FITTED_HELP)
    cautions = forms.MultipleChoiceField(
        required=False,
        label=texts.CAUTIONS_LABEL,
        choices=[(key, title) for key, (title, _words) in CAUTIONS.items()],
        widget=forms.CheckboxSelectMultiple,
    )

    supply_lamp = forms.CharField(
        required=False,
        max_length=20,
        label=texts.LAMP_LABEL,
        help_text=texts.LAMP_HELP,
    )
    supply_volts = forms.CharField(
        required=False,
        max_length=20,
        label=texts.VOLTS_LABEL,
        help_text=texts.VOLTS_HELP,
    )
    settings = SettingsField(label=texts.SETTINGS_LABEL, help_text=texts.SETTINGS_HELP)
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
        labels, help_texts = texts.STAGE_LABELS, texts.STAGE_HELP
        widgets = {"intro": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fill_video(self.instance.video)
        for name, value in (self.instance.supply or {}).items():
            self.fields[f"supply_{name}"].initial = value

    def clean_cautions(self):
        """Ticked ones in the order that the guide has them in; new ones follow."""
        before = self.instance.cautions or []
        return sorted(self.cleaned_data["cautions"], key=lambda c: before.index(c) if c in before else len(before))

    def as_row(self, data):
        supply = {
            name: data[f"supply_{name}"].strip() for name in ("lamp", "volts") if data.get(f"supply_{name}", "").strip()
        }
        rest = {key: value for key, value in data.items() if not key.startswith("supply_")}
        self.instance.supply, self.instance.video = supply, video_table(data)
        return super().as_row(without_video(rest) | {"supply": supply, "video": self.instance.video})

    def find_field(self, key):
        return {"supply": "supply_lamp", "video": "video_address"}.get(key) or super().find_field(key)


class StepForm(VideoFields, RowForm):
    table = "step"
    groups = (video_fields.GROUP,)
    folded = (video_fields.GROUP[0],)
    parts = ListField(required=False, label=texts.PARTS_LABEL, help_text=texts.PARTS_HELP)

    class Meta:
        model = Step
        fields = ["key", "text", "hands_in", "parts", "picture", "photo"]
        labels, help_texts = texts.STEP_LABELS, texts.STEP_HELP
        widgets = {"text": forms.Textarea(attrs={"rows": 6})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fill_video(self.instance.video)

    def as_row(self, data):
        self.instance.video = video_table(data)
        return super().as_row(without_video(data) | {"video": self.instance.video})

    def find_field(self, key):
        return "video_address" if key == "video" else super().find_field(key)


class CheckForm(figure_fields.FigureSourceFields, RowForm):
    table = "check"
    marker = MarkerField(required=False, label=texts.MARKER_LABEL, help_text=texts.MARKER_HELP)
    hints = HintsField(required=False, label=texts.HINTS_LABEL, help_text=texts.HINTS_HELP)
    # in the file `signal`, a name that the fields of a recording have
    under = SignalField(label=texts.SIGNAL_LABEL, help_text=texts.SIGNAL_HELP)
    groups = (*texts.CHECK_GROUPS, figure_fields.GROUP)
    folded = (*texts.RARELY_NEEDED, figure_fields.GROUP[0])

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
            "read_with",
            "through",
            "picture",
            "marker",
            "optional",
            "hints",
        ]
        labels, help_texts = texts.CHECK_LABELS, texts.CHECK_HELP
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["measure"].choices = [("", texts.MEASURE_CHOICE), *figure_fields.measure_choices()]
        self.fill_from(self.instance)
        self.fields["under"].initial = self.instance.signal

    def as_row(self, data):
        tables = {"formula": {}, "recording": {}} | self.tables(data)
        for name, table in tables.items():
            setattr(self.instance, name, table)
        self.instance.signal = data.get("under") or None
        plain = {k: v for k, v in data.items() if k not in (*figure_fields.FIELDS, "under")}
        row = super().as_row(plain | tables | {"signal": self.instance.signal})
        hints = {"hint": row.pop("hints")} if "hints" in row else {}
        return row | hints

    def find_field(self, key):
        own = {"hint": "hints", "formula": "of", "recording": "signal", "signal": "under"}
        return own.get(key) or super().find_field(key)


class PartForm(part_fields.PartFields, VideoFields, RowForm):
    table = "part"
    groups = (*part_fields.GROUPS, video_fields.GROUP)
    folded = tuple(legend for legend, _help, _names in groups)
    kind = forms.ChoiceField(label=texts.KIND_LABEL, choices=[(k, k) for k in shape.KINDS])
    field_order = [*shape.PART_COLUMNS]

    class Meta:
        model = Part
        fields = [*shape.PART_COLUMNS]
        labels, help_texts = texts.PART_LABELS, texts.PART_HELP

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.before = build_mapping(self.instance)
        self.initial |= to_fields(self.before)
        self.fill_video(self.before.get("video"))

    def as_row(self, data):
        video = video_table(data)
        detail = to_detail(data, data.get("kind", ""), self.before) | ({"video": video} if video else {})
        self.instance.detail = detail
        columns = {k: v for k, v in without_video(data).items() if k not in part_fields.FIELDS}
        return super().as_row(columns) | detail

    def find_field(self, key):
        return (part_fields.KEYS | {"video": "video_address"}).get(key) or super().find_field(key)

    def clean(self):
        try:
            data = super().clean()
        except Wrong as wrong:
            self.add_error(wrong.field, str(wrong))
            return self.cleaned_data
        if not self.errors and left_to_model(self.instance.revision):
            for field, message in self._as_circuit(self.as_row(data)):
                self.add_error(field, message)
        return data

    def _as_circuit(self, row):
        """A guide that leaves checks to its circuit takes no part that is wired and that the circuit cannot use; one
        that is not wired yet may stand in the list."""
        if not row.get("joins") and not row.get("winding"):
            return
        try:
            part_from_mapping(row)
        except ChecksError as error:
            message = part_message(error)
            yield (
                self._field_of_error(error.argument),
                _("%(error)s Some checks take their figures from the circuit, so it must be readable.")
                % {"error": message},
            )

    def _field_of_error(self, argument: str) -> str | None:
        """ "joins.anode" and "winding ht: ohms" are about tables."""
        return self.find_field(re.split(r"[ .:]", argument)[0])


class PointForm(RowForm):
    table = "point"
    marker = MarkerField(required=False, label=texts.MARKER_LABEL, help_text=texts.MARKER_HELP)

    class Meta:
        model = Point
        fields = ["node", "words", "picture", "marker"]
        labels, help_texts = texts.POINT_LABELS, texts.POINT_HELP


FORMS = {"stage": StageForm, "step": StepForm, "check": CheckForm, "part": PartForm, "point": PointForm}
