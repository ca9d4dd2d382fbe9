"""What a designer's tester showed of a build's valves: the form, and keeping it."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.bench.gates.facts import load_facts
from builds.bench.models import Build, ValveTest
from builds.bench.readings.entry_keys import EntryForm, add_once
from builds.bench.valves import fitting, own_valves
from builds.guides.alternatives import permitted_types, row_with_type
from builds.guides.models import Part
from builds.ui.formatting import format_figure
from checks.circuit.netlist.terminals import SECTIONS
from checks.circuit.valves.tested import MeasuredPoint, koren_as_tested
from checks.circuit.valves.types import find_koren, find_type
from checks.errors import ChecksError

MILLI = 1e-3
FIELDS = {  # argument of an error -> field
    "anode_volts": "anode_volts",
    "screen_volts": "screen_volts",
    "grid_volts": "grid_volts",
    "anode_amps": "milliamps",
    "transconductance": "slope",
    "accuracy": "accuracy",
}


@dataclass(frozen=True)
class Section:
    """A triode or pentode system of a socket: what one test is of."""

    part: Part
    name: str

    @property
    def key(self) -> str:
        return f"{self.part.ref} {self.name}".strip()

    @property
    def label(self) -> str:
        pin = (self.part.detail.get("pins") or {}).get(self.name or "anode")
        pin = pin.get("anode") if isinstance(pin, dict) else pin
        if not self.name:
            return self.part.ref
        if not isinstance(pin, str):
            return _("%(ref)s, section %(name)s") % {"ref": self.part.ref, "name": self.name}
        return _("%(ref)s, section %(name)s (anode pin %(pin)s)") % {
            "ref": self.part.ref,
            "name": self.name,
            "pin": pin,
        }


def list_sections(build: Build) -> list[Section]:
    """What can be tested of a build's valves. A rectifier has no grid."""
    return [
        Section(part, name)
        for part in fitting.sockets(build)
        if part.kind != "rectifier valve"
        for name in SECTIONS[part.kind]
    ]


def book_point(type_: str, kind: str) -> dict:
    """The first published point of a type, as the form's fields; empty where none is known."""
    point = next(iter((find_type(type_, kind) or {}).get("points", ())), None)
    if point is None:
        return {}
    return {
        "anode_volts": point["va"],
        "screen_volts": point.get("vg2"),
        "grid_volts": point["vg1"],
        "book": format_figure(point["ia"], "A") + (f", {_slope(point['gm'])}" if "gm" in point else ""),
    }


def _slope(amps_per_volt: float) -> str:
    return f"{format_figure(amps_per_volt, 'A')}/V"


class ValveTestForm(EntryForm):
    """Figures of one section at a stated point, in the units testers show."""

    asks_at = "milliamps"
    section = forms.ChoiceField(label=gettext_lazy("Valve"))
    type = forms.ChoiceField(label=gettext_lazy("Type"))
    make = forms.CharField(label=gettext_lazy("Make"), max_length=60, required=False)
    code = forms.CharField(
        label=gettext_lazy("Date code or number"),
        max_length=40,
        required=False,
        help_text=gettext_lazy(
            "If you give make and code, the figures stay with the valve when it moves to another socket."
        ),
    )
    anode_volts = forms.FloatField(label=gettext_lazy("Anode voltage in V"), min_value=1, max_value=2000)
    screen_volts = forms.FloatField(
        label=gettext_lazy("Screen voltage in V"),
        min_value=1,
        max_value=2000,
        required=False,
        help_text=gettext_lazy("Only for a pentode or beam tetrode."),
    )
    grid_volts = forms.FloatField(
        label=gettext_lazy("Grid voltage in V"),
        min_value=-500,
        max_value=0,
        help_text=gettext_lazy("Relative to the cathode, such as -2."),
    )
    milliamps = forms.FloatField(label=gettext_lazy("Anode current in mA"), min_value=0.01, max_value=2000)
    slope = forms.FloatField(
        label=gettext_lazy("Transconductance in mA/V"), min_value=0.01, max_value=200, required=False
    )
    accuracy = forms.FloatField(
        label=gettext_lazy("Accuracy of the tester in %"),
        min_value=0.5,
        max_value=25,
        initial=5,
        help_text=gettext_lazy("For the anode current. Use 5 % if its maker gives no figure (common practice)."),
    )

    def __init__(self, *args, build, **kwargs):
        self.sections = {section.key: section for section in list_sections(build)}
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["section"].choices = [(key, section.label) for key, section in self.sections.items()]
        types = {s.part.ref: permitted_types(s.part) for s in self.sections.values()}
        fields["type"].choices = [(ref, [(name, name) for name in names]) for ref, names in types.items()]

    def clean(self):
        super().clean()
        data = self.cleaned_data
        section = self.sections.get(data.get("section", ""))
        if self.errors or section is None:
            return data
        if data["type"] not in permitted_types(section.part):
            self.add_error("type", _("%(ref)s does not take this type.") % {"ref": section.part.ref})
            return data
        try:
            koren_as_tested(self._curve(section, data["type"]), read_tested(data), data["type"])
        except ChecksError as error:
            self.add_error(FIELDS.get(error.argument, "milliamps"), refusal_text(error, data["type"]))
        return data

    def _curve(self, section: Section, type_: str):
        row = row_with_type(section.part.detail, type_)
        return find_koren(type_, row.get("model") or {}, section.part.kind)


def read_tested(data: dict) -> MeasuredPoint:
    """The form's figures in SI."""
    return MeasuredPoint(
        data["anode_volts"],
        data["grid_volts"],
        data["milliamps"] * MILLI,
        data["slope"] * MILLI if data.get("slope") else None,
        data.get("screen_volts"),
        data["accuracy"] / 100,
    )


def refusal_text(error: ChecksError, type_: str) -> str:
    names = {"type": type_}
    if error.code == "tested-screen":
        return _("A pentode is tested at a screen voltage. Enter it.")
    if error.code == "tested-no-current":
        return _("A %(type)s carries no current at this point. Check the voltages.") % names
    if error.code == "tested-strange" and error.argument == "anode_amps":
        usual = format_figure(error.params["usual"], "A")
        return _("A %(type)s carries about %(usual)s at this point. Check the point, the type and the figure.") % (
            names | {"usual": usual}
        )
    if error.code == "tested-strange":
        usual = _slope(error.params["usual"])
        return _("A %(type)s has about %(usual)s at this point. Check the point, the type and the figure.") % (
            names | {"usual": usual}
        )
    return _("The valve library has no data for the %(type)s, so its test figures cannot be used.") % names


@transaction.atomic
def save_test(build: Build, form: ValveTestForm, person) -> ValveTest:
    """Keep one test and bring the build's figures up to date. Raises UsedKey."""
    data, tested = form.cleaned_data, read_tested(form.cleaned_data)
    section = form.sections[data["section"]]
    entered = {
        "build": build,
        "ref": section.part.ref,
        "section": section.name,
        "type": data["type"],
        "make": " ".join(data["make"].split()),
        "code": data["code"].strip(),
        "anode_amps": tested.anode_amps,
    }
    more = {name: getattr(tested, name) for name in own_valves.MEASURED if name != "anode_amps"}
    row, is_new = add_once(ValveTest, data["entry_key"], entered, **more, by=person, at=load_facts(build).dated())
    if is_new:
        own_valves.settle_valves(Build.objects.select_for_update().get(pk=build.pk))
    return row


@transaction.atomic
def withdraw_test(build: Build, ref: str, section: str, person) -> None:
    """The test of a section holds no more; it stays on record."""
    last = build.valve_tests.filter(ref=ref, section=section).last()
    if last is not None and last.anode_amps:
        ValveTest.objects.create(
            build=build, ref=ref, section=section, type=last.type, by=person, at=load_facts(build).dated()
        )
        own_valves.settle_valves(Build.objects.select_for_update().get(pk=build.pk))
