"""Every key that a guide file may have, in one guide: none is lost on the way out, in, or through a form."""

import pytest
from django.http import QueryDict

from builds.guides.editor.forms import FORMS
from builds.guides.guide_file import read_guide, shape, store_guide, write_zip
from builds.guides.guide_file.write import as_tables, normalise
from builds.guides.revisions import clone
from tests import factories
from tests.builds.guides.sent_form import sent_fields
from tests.builds.guides.test_every_undo import png, zipped

pytestmark = pytest.mark.django_db
GUIDE = """\
format = 1
[kit]
key = "every"
name = "Every"
revision = "A"
mains = { volts = 120, hertz = 60 }
taps = [110, 120]
summary = "Has it all."
[[picture]]
name = "a.png"
turn = 90
crop = [0.1, 0.1, 0.9, 0.9]
mark = [
  { what = "arrow", at = [0.2, 0.2], to = [0.4, 0.4] },
  { what = "ring", at = [0.5, 0.5], size = 0.1 },
  { what = "words", at = [0.6, 0.6], text = "C1" },
]
[[point]]
node = "ht"
words = "the red tag"
picture = "a.png"
marker = [0.25, 0.5]
places = [["b.png", 0.1, 0.2]]
[[part]]
ref = "T1"
kind = "mains transformer"
note = "Toroid"
[[part.winding]]
name = "primary"
volts = "120 V"
ohms = "20 Ω"
joins = ["mains.live", "mains.neutral"]
[[part.winding]]
name = "ht"
volts = "250 V"
tolerance = "5%"
amps = "80 mA"
ohms = "180 Ω"
ohms_tolerance = "10%"
joins = ["ac", "chassis"]
[[part]]
ref = "T2"
kind = "output transformer"
[[part.winding]]
name = "primary"
ohms = "400 Ω"
impedance = "5k"
inductance = "12 H"
leakage_inductance = "20 mH"
joins = ["ht", "anode"]
[[part.winding]]
name = "secondary"
ohms = "0.5 Ω"
impedance = "8 Ω"
joins = ["speaker", "chassis"]
[[part]]
ref = "D1"
kind = "diode"
type = "1N4007"
joins = { anode = "ac", cathode = "ht" }
[[part]]
ref = "C1"
kind = "electrolytic"
value = "47u"
tolerance = "20%"
volts = "450 V"
leakage = "1 mA"
bag = "2"
quantity = 2
joins = ["ht", "chassis"]
video = { address = "https://videos.example/1", at = "0:01:02" }
[[part]]
ref = "R1"
kind = "resistor"
value = "100k"
power = "2 W"
joins = ["ht", "chassis"]
[[part]]
ref = "RV1"
kind = "potentiometer"
value = "10k"
setting = 0.25
joins = { top = "ht", wiper = "tap", bottom = "chassis" }
[[part]]
ref = "S1"
kind = "switch"
open_when_off = true
joins = ["mains.in", "mains.live"]
[[stage]]
key = "cold"
title = "Cold"
intro = "Unplugged."
gate = true
minutes = 30
cautions = ["eye-protection"]
settings = { RV1 = 0.5 }
video = { address = "https://videos.example/2", at = "0:00:10" }
order = ["look", "rail", "fit"]
[[stage.step]]
key = "fit"
text = "Fit C1."
parts = ["C1"]
picture = "a.png"
photo = "required"
hands_in = true
video = { address = "https://videos.example/3", at = "0:00:20" }
[[stage.step]]
key = "look"
text = "Look."
[[stage.check]]
key = "rail"
title = "Rail"
measure = "resistance"
red = "ht"
black = "tap"
note = "Wait."
expected = "100k"
figure_from = "prototype"
prototype = "99k"
band = "10%"
optional = true
picture = "b.png"
marker = [0.3, 0.3]
hint = [{ when = "low", text = "C1 leaks.", next = "volts" }]
[[stage]]
key = "hot"
title = "Hot"
power = "on"
cautions = ["one-hand"]
not_fitted = ["T2"]
supply = { volts = "120 V" }
[[stage.check]]
key = "volts"
title = "Volts"
measure = "dc volts"
red = "ht"
low = "300 V"
high = "380 V"
stop_above = "450 V"
stop_below = "10 V"
mains_exponent = 1
source_resistance = "1k"
read_with = "10M"
[[stage.check]]
key = "least"
title = "Least"
measure = "dc volts"
red = "tap"
at_least = "1 V"
stop_above = "450 V"
[[stage.check]]
key = "most"
title = "Most"
measure = "dc volts"
red = "=the screw"
at_most = "1 V"
stop_above = "450 V"
"""
# Kept in guides of their own: valves' pins, limits and alternatives, tones, formulas and recordings are in the demo's.
ELSEWHERE = {
    "part": {"ohms_tolerance", "pins", "amps", "base", "limits", "model", "ohms", "regulation", "alternatives"},
    "check": {"through", "signal", "formula", "recording"},
}
TABLES = {"kit": "KIT", "point": "POINT", "part": "PART", "stage": "STAGE", "step": "STEP", "check": "CHECK"}


def draft():
    return store_guide(read_guide(zipped(guide__toml=GUIDE, a__png=png(), b__png=png())), factories.make_designer())


def rows_of(data: dict) -> dict[str, list[dict]]:
    stages = data["stage"]
    return {
        "kit": [data["kit"]],
        **{name: data[name] for name in ("point", "part", "stage")},
        **{name: [row for stage in stages for row in stage.get(name, [])] for name in ("step", "check")},
    }


def keys_of(data: dict) -> dict[str, set[str]]:
    return {name: {key for row in rows for key in row} for name, rows in rows_of(data).items()}


@pytest.mark.parametrize("table", TABLES)
def test_the_guide_has_every_key_that_the_file_may_have(table):
    had = keys_of(read_guide(zipped(guide__toml=GUIDE, a__png=png(), b__png=png())))[table]
    assert set(getattr(shape, TABLES[table])) - had == ELSEWHERE.get(table, set())


@pytest.mark.lengthy
def test_every_key_goes_out_and_in_and_to_the_next_revision():
    made = draft()
    data, again = read_guide(zipped(guide__toml=GUIDE, a__png=png(), b__png=png())), read_guide(write_zip(made))
    assert normalise(again) == normalise(data)
    assert keys_of(as_tables(made)) == keys_of(data)
    made.state = made.State.ISSUED
    before = as_tables(made)
    tables = as_tables(clone(made))
    assert {name: tables[name] for name in ("point", "part", "stage")} == {
        name: before[name] for name in ("point", "part", "stage")
    }


@pytest.mark.lengthy
@pytest.mark.parametrize("kind", FORMS)
def test_a_form_that_nobody_touched_loses_no_key(kind):
    made = draft()
    before = as_tables(made)
    stages = [*made.stages.all()]
    rows = {
        "part": made.parts.all(),
        "point": made.points.all(),
        "stage": stages,
        "step": [step for stage in stages for step in stage.steps.all()],
        "check": [check for stage in stages for check in stage.checks.all()],
    }[kind]
    for row in rows:
        own = {"stage": row.stage} if kind in ("step", "check") else {"revision": made}
        siblings = type(row).objects.filter(**own)
        post = QueryDict(mutable=True)
        for name, value in sent_fields(str(FORMS[kind](None, instance=row, siblings=siblings))).items():
            post.setlist(name, value if isinstance(value, list) else [value])
        form = FORMS[kind](post, instance=type(row).objects.get(pk=row.pk), siblings=siblings)
        assert form.is_valid(), (str(row), form.errors)
        form.save()
    assert as_tables(made) == before
