"""A kit built from its file to its last check through the pages alone, by a designer and a builder who are careless.

Every entry is posted as a phone posts it, twice, since a second reading may confirm a first. Whether it may pass, and
whether it has to stop, is judged by an engineer who shares no code with the project (oracle.py), against limits worked
out by hand beside each check.
"""

import math
import re
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import reverse

from builds.bench.models import Build, CheckStatus, Reading, Tick
from builds.bench.readings.context import build_context
from builds.guides.circuit.stored import compute_figures
from builds.guides.models import Check, Revision
from tests import factories
from tests.dangers.oracle import Limits, meanings

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"

PARTS = """format = 1
[kit]
key = "careless-line"
name = "Careless line"
revision = "A"
mains = { volts = 230, hertz = 50 }
[[part]]
ref = "T1"
kind = "mains transformer"
[[part.winding]]
name = "primary"
volts = "230 V"
ohms = "30R"
joins = ["mains.live", "mains.neutral"]
[[part.winding]]
name = "ht"
volts = "200 V"
amps = "50 mA"
ohms = "100R"
joins = ["ac", "chassis"]
[[part.winding]]
name = "heater"
volts = "6.3 V"
amps = "1 A"
ohms = "0.2R"
joins = ["h", "chassis"]
[[part]]
ref = "D1"
kind = "diode"
type = "1N4007"
joins = { anode = "ac", cathode = "ht" }
[[part]]
ref = "C1"
kind = "electrolytic"
value = "47u"
volts = "400 V"
joins = ["ht", "chassis"]
[[part]]
ref = "R1"
kind = "resistor"
value = "100k"
power = "2 W"
joins = ["ht", "chassis"]
[[part]]
ref = "R2"
kind = "resistor"
value = "22k"
power = "2 W"
joins = ["ht", "an"]
[[part]]
ref = "R3"
kind = "resistor"
value = "180R"
tolerance = "1%"
power = "0.6 W"
joins = ["k", "chassis"]
[[part]]
ref = "R4"
kind = "resistor"
value = "47k"
joins = ["g", "chassis"]
[[part]]
ref = "V1"
kind = "twin triode"
type = "ECC82"
base = "B9A"
[part.pins]
"a.anode" = "1"
"a.grid" = "2"
"a.cathode" = "3"
"b.anode" = "6"
"b.grid" = "7"
"b.cathode" = "8"
heater = ["4", "5"]
heater_centre = "9"
[part.joins]
"a.anode" = "an"
"a.grid" = "g"
"a.cathode" = "k"
"b.anode" = "an"
"b.grid" = "g"
"b.cathode" = "k"
heater = ["h", "h"]
heater_centre = "chassis"
"""
STAGES = """[[stage]]
key = "cold"
title = "Cold"
gate = true
[[stage.check]]
key = "earth"
title = "Earth bond"
measure = "continuity"
red = "=the earth pin of the plug, out of the wall"
at_most = "0.5R"
[[stage.check]]
key = "bleeder"
title = "B+ to chassis"
measure = "resistance"
red = "ht"
expected = "100k"
band = "10%"
[[stage.check]]
key = "mains"
title = "Plug to chassis"
measure = "isolation"
red = "=both pins of the plug, out of the wall, S1 on"
at_least = "20M"
[[stage]]
key = "first"
title = "First power"
power = "on"
cautions = ["lethal-voltage"]
not_fitted = ["V1"]
[[stage.check]]
key = "bplus"
title = "B+"
measure = "dc volts"
red = "ht"
expected = "model"
[[stage.check]]
key = "heater"
title = "Heater"
measure = "ac volts"
red = "h"
low = "6.0 V"
high = "6.9 V"
stop_above = "7.5 V"
[[stage]]
key = "valves"
title = "Valve in"
power = "on"
gate = true
cautions = ["lethal-voltage"]
[[stage.step]]
key = "fit"
text = "Switch off, unplug, log made safe. Then fit V1."
hands_in = true
parts = ["V1"]
[[stage.check]]
key = "cathode"
title = "Cathode current"
measure = "current"
through = "R3"
red = "k"
low = "5 mA"
high = "20 mA"
stop_above = "40 mA"
[[stage.check]]
key = "grid"
title = "Grid"
measure = "dc volts"
red = "g"
low = "-500 mV"
high = "300 mV"
stop_above = "20 V"
"""
WATTS = 200 * 0.05 + 6.3
COPPER = 1.117 * (0.05 * 100 / 200 + WATTS * 30 / 230**2)  # what the windings drop at rated amps, 30 K warm
OHMS = 1.117 * (100 + 30 * (200 / 230) ** 2)  # in the way of the pulses
ANGLE = (3 * math.pi * OHMS / 100e3) ** (1 / 3)  # that a half-wave diode conducts either side of the peak, if small
OPEN = 200 * math.sqrt(2) * (1 + COPPER) * math.cos(ANGLE) - 0.7  # V over the bleeder

# What is typed is multiplied by the gain; a band of the model's may be anything within 15 % of what the hand gives.
HAND = {
    "earth": ("Ω", Limits(None, 0.5, by_size=True), 1.0),
    "bleeder": ("Ω", Limits(90e3, 110e3), 1.0),
    "mains": ("Ω", Limits(20e6, None), 1.0),
    "bplus": ("V", Limits(0.85 * OPEN, 1.15 * OPEN, 400.0), 1.0),
    "heater": ("V", Limits(6.0, 6.9, 7.5), 1.0),
    "cathode": ("V", Limits(0.005, 0.020, 0.040), 1 / 180),
    "grid": ("V", Limits(-0.5, 0.3, 20.0), 1.0),
}
GOOD = {
    "earth": "0.21 Ω",
    "bleeder": "99.4 kΩ",
    "mains": "38.5 MΩ",
    "bplus": f"{OPEN:.0f}.0 V",
    "heater": "6.42 V",
    "cathode": "1.812 V",
    "grid": "12 mV",
}
CARELESS = {
    "earth": ["3", "3 Ω", "1m", "0.9", "OL", "0,6", "1k", "-3", ""],
    "bleeder": ["100", "0.1 MΩ", "99.4", "99.4 MΩ", "9.94k", "994 kΩ", "100 V", "OL", "1m"],
    "mains": ["0.2", "1.9 MΩ", "19 M", "2", "0L kΩ", "-OL", "20k", "open"],
    "bplus": [
        "29.1",
        "2.91 V",
        "-291 V",
        "291 mV",
        "2910",
        "420.0 V",
        "1 V",
        "OL",
        "-OL",
        "230.0 V",
        "0.0",
        "291 V AC",
    ],
    "heater": ["64.2", "0.642 V", "6.42 mV", "5.42 V", "12.6 V", "-6.42", "642", "7.80 V", "0.0"],
    "cathode": ["18.12 V", "181.2 mV", "10.1 mA", "-1.812", "0.0 V", "9.00 V", "18.1"],
    "grid": ["1.8 V", "1.8", "-1.8 V", "180", "31.0 V", "OL", "0.9 V", "999"],
}


def take_in(designer) -> Revision:
    """The guide by the import page; issued only once a reason is written for what the designer left out."""
    file = SimpleUploadedFile("guide.toml", (PARTS + STAGES).encode(), content_type="application/toml")
    assert designer.post(reverse("guides:import"), {"guide": file}).status_code == 302
    draft = Revision.objects.get(kit__key="careless-line")
    compute_figures(draft, 100)
    address = reverse("guides:issue", args=["careless-line", "A"])
    designer.post(address)
    assert Revision.objects.get(pk=draft.pk).is_draft  # no gate before the valves: not without a reason
    designer.post(address, {"reason": "The prototype was measured."})
    return Revision.objects.get(pk=draft.pk)


def join(designer, revision) -> tuple[Client, Build]:
    page = designer.post(reverse("review:builds", args=[revision.kit.key, "A"]), {"serial": "007"}, follow=True)
    (build,), phone = Build.objects.filter(revision=revision), Client()
    who = {"display_name": "Builder 07", "password": "a long test pass 41", "password_again": "a long test pass 41"}
    bench = {"email": "", "mains_volts": 230, "mains_hertz": 50, "read_cautions": "on", "preset": "handheld"}
    link = re.search(r"/invitation/[\w\-]+/", page.content.decode())[0]
    assert phone.post(link, who | bench).status_code == 302
    build.refresh_from_db()
    return phone, build


@pytest.fixture
def bench(db):
    designer = Client()
    designer.force_login(factories.make_designer(), backend=BACKEND)
    revision = take_in(designer)
    assert not revision.is_draft
    return join(designer, revision)


def post(bench, name, *args, **data):
    phone, build = bench
    return phone.post(reverse(f"bench:{name}", args=[build.pk, *args]), {"entry_key": str(uuid4()), **data})


def read(bench, check, typed) -> tuple[str, str]:
    """(outcome of the kept reading or "", the button that was pressed beforehand)"""
    button = build_context(bench[1], check, 230.0).unit_beforehand or ""
    key = str(uuid4())
    post(bench, "reading", check.stage.key, check.key, typed=typed, unit=button, entry_key=key)
    kept = Reading.objects.filter(entry_key=key).first()
    return kept.outcome if kept else "", button


def passed(build, check) -> bool:
    return CheckStatus.objects.filter(build=build, check_row=check, passed=True).exists()


def faults_of(bench, check) -> list[str]:
    """Every careless entry at one check that the site took otherwise than the engineer would."""
    unit, limits, gain = HAND[check.key]
    faults = []
    for typed in CARELESS[check.key]:
        with transaction.atomic():
            outcome, button = read(bench, check, typed)
            again, _button = read(bench, check, typed)
            took = passed(bench[1], check)
            transaction.set_rollback(True)
        meant = meanings(typed, button, unit, check.key == "earth")
        out = [m for m in meant if m.over or not limits.lets_in(m.value * gain) or (unit == "Ω" and m.value < 0)]
        if took and (out or not meant):
            faults.append(f"{check.key}: {typed!r} passes ({outcome}, {again})")
        past = meant and all(not m.over and limits.is_past_stop(m.value * gain) for m in meant)
        if past and outcome not in ("switch off", ""):
            faults.append(f"{check.key}: {typed!r} does not stop ({outcome})")
        if outcome == "switch off" and again:
            faults.append(f"{check.key}: {typed!r} was taken after a stop")
    return faults


def through(bench, stage) -> list[str]:
    """The careless entries at each check of a stage, and then the good one, which has to pass."""
    faults = []
    for check in Check.objects.filter(stage__revision=bench[1].revision, stage__key=stage).select_related("stage"):
        faults += faults_of(bench, check)
        outcome, _button = read(bench, check, GOOD[check.key])
        assert passed(bench[1], check), (check.key, GOOD[check.key], outcome)
    return faults


def fits_valves(bench) -> bool:
    post(bench, "tick", "valves", "fit", done="yes")
    return Tick.objects.filter(build=bench[1], step__key="fit").exists()


@pytest.mark.lengthy
def test_no_careless_entry_of_a_whole_build_passes_or_goes_past_a_stop(bench):
    post(bench, "cautions", "first", read="on", mains="230")
    live = Check.objects.select_related("stage").get(stage__revision=bench[1].revision, key="bplus")
    assert read(bench, live, GOOD["bplus"])[0] == ""  # the gate before it is shut
    faults = through(bench, "cold")
    post(bench, "cautions", "first", read="on", mains="230")
    faults += through(bench, "first")
    assert not fits_valves(bench)  # power is on record
    post(bench, "make-safe", typed="291 V")
    assert not fits_valves(bench)
    post(bench, "make-safe", typed="0.4 V")
    post(bench, "cautions", "valves", read="on", mains="230")
    faults += through_valves(bench)
    assert faults == []


def through_valves(bench) -> list[str]:
    if not fits_valves(bench):
        post(bench, "make-safe", typed="0.4 V")
        assert fits_valves(bench)
    post(bench, "switch-on", "valves")
    return through(bench, "valves")


@pytest.mark.lengthy
def test_after_a_stop_nothing_is_taken_before_the_kit_is_made_safe(bench):
    rows = {c.key: c for c in Check.objects.filter(stage__revision=bench[1].revision).select_related("stage")}
    for key in ("earth", "bleeder", "mains"):
        assert read(bench, rows[key], GOOD[key])[0] == "in band"
    post(bench, "cautions", "first", read="on", mains="230")
    assert read(bench, rows["bplus"], "420.0 V")[0] == "switch off"
    for key in ("bplus", "heater", "earth"):
        assert read(bench, rows[key], GOOD[key])[0] == "" and not fits_valves(bench)
    post(bench, "make-safe", typed="61 V")
    assert read(bench, rows["heater"], GOOD["heater"])[0] == ""
    post(bench, "make-safe", typed="0.4 V")
    assert read(bench, rows["heater"], GOOD["heater"])[0] == ""  # dead now: switched on in words first
    post(bench, "switch-on", "first", check="bplus")
    assert read(bench, rows["bplus"], GOOD["bplus"])[0] == "in band"
