"""Thousands of entries against an engineer who shares no code with the project: no wrong pass, no silent stop.

Pass means in band at once, or too close to call in a way that a second reading like it confirms. An entry may pass only
if everything that may be meant by it lies in band, as typed and corrected for the meter's load and the line; one of
which every meaning is past a stop limit stops, whatever else is in doubt.
"""

from dataclasses import dataclass
from pathlib import Path
from random import Random

import pytest
from django.utils import timezone

from builds.accounts.models import Meter
from builds.bench.forms import CautionsForm
from builds.bench.readings.context import build_context
from builds.bench.readings.forms import ReadingForm
from builds.guides.models import Check, Revision
from checks.errors import ChecksError
from checks.mains import line_for
from checks.meter import Accuracy, MeterSpec
from tests import factories
from tests.dangers.oracle import Limits, Meaning, meanings

pytestmark = pytest.mark.django_db
METER = MeterSpec("digital", Accuracy(0.5, 3), Accuracy(1, 3), Accuracy(1, 3), input_ohms=10e6)
PARTS = ({"ref": "R10", "kind": "resistor", "value": "180R", "tolerance": "1%"},)


@dataclass(frozen=True)
class Trial:
    """A check as the guide writes it, and the same worked out by hand: what is typed in `unit` is multiplied by `gain`
    (the load of 10 MΩ, or a resistor) before it meets `limits`; at a mains of `mains` they are multiplied by `line`."""

    figures: dict
    unit: str
    limits: Limits
    gain: float = 1.0
    mains: float | None = 230.0
    spread: tuple[float, float] = (1.0, 1.0)  # of the band's ends by the line
    volts: float | None = None  # of the build's supply, where it is not the guide's


TRIALS = {
    "earth": Trial({"measure": "continuity", "at_most": "500 mΩ"}, "Ω", Limits(None, 0.5, by_size=True)),
    "earth-r": Trial({"measure": "resistance", "at_most": "0.5"}, "Ω", Limits(None, 0.5, by_size=True)),
    "100k": Trial({"measure": "resistance", "expected": "100k", "band": "10%"}, "Ω", Limits(90e3, 110e3)),
    "4k7": Trial({"measure": "resistance", "expected": "4k7", "band": "5%"}, "Ω", Limits(4465.0, 4935.0)),
    "1M": Trial({"measure": "resistance", "expected": "1M", "band": "10%"}, "Ω", Limits(0.9e6, 1.1e6)),
    "insulation": Trial({"measure": "isolation", "at_least": "20 MΩ"}, "Ω", Limits(20e6, None)),
    "not joined": Trial({"measure": "resistance", "expected": "open"}, "Ω", Limits(1e6, None)),
    "b+": Trial(
        {"measure": "dc volts", "low": "285 V", "high": "335 V", "stop_above": "400 V", "mains_exponent": 0.0},
        "V",
        Limits(285, 335, 400),
    ),
    "b+ behind 470k": Trial(
        {"measure": "dc volts", "low": "285 V", "high": "335 V", "stop_above": "350 V", "source_resistance": "470k"},
        "V",
        Limits(285, 335, 350),
        gain=1.047,
    ),
    "b+ at 250 V": Trial(
        {"measure": "dc volts", "low": "285 V", "high": "335 V", "stop_above": "400 V", "mains_exponent": 1.0},
        "V",
        Limits(285 * 250 / 230, 335 * 250 / 230, 400),
        mains=250.0,
    ),
    "b+, mains unknown": Trial(
        {"measure": "dc volts", "low": "285 V", "high": "335 V", "stop_above": "400 V", "mains_exponent": 1.0},
        "V",
        Limits(285 * 0.9, 335 * 1.1, 400),
        mains=None,
    ),
    "b+, 230 typed on a supply of 115 V": Trial(
        {"measure": "dc volts", "low": "285 V", "high": "335 V", "stop_above": "400 V", "mains_exponent": 1.0},
        "V",
        Limits(285 * 0.9, 335 * 1.05, 400),
        mains=230.0,
        volts=115,
    ),
    "at least 200 V": Trial(
        {"measure": "dc volts", "at_least": "200 V", "stop_above": "400 V"}, "V", Limits(200, None, 400)
    ),
    "at most 60 mV": Trial({"measure": "dc volts", "at_most": "60 mV"}, "V", Limits(None, 0.06, by_size=True)),
    "grid": Trial({"measure": "dc volts", "low": "-500 mV", "high": "300 mV"}, "V", Limits(-0.5, 0.3)),
    "bias": Trial(
        {"measure": "dc volts", "low": "-34 V", "high": "-28 V", "stop_above": "-20 V"}, "V", Limits(-34, -28, -20)
    ),
    "negative supply": Trial(
        {"measure": "dc volts", "low": "-64 V", "high": "-52 V", "stop_below": "-80 V"},
        "V",
        Limits(-64, -52, None, -80),
    ),
    "heater": Trial(
        {"measure": "ac volts", "low": "6.0 V", "high": "6.6 V", "stop_above": "7.5 V"}, "V", Limits(6.0, 6.6, 7.5)
    ),
    "hum": Trial({"measure": "ac volts", "at_most": "20 mV"}, "V", Limits(None, 0.02, by_size=True)),
    "current": Trial(
        {
            "measure": "current",
            "through": "R10",
            "red": "k",
            "expected": "45.5 mA",
            "band": "10%",
            "stop_above": "65 mA",
        },
        "V",
        Limits(0.04095, 0.05005, 0.065),
        gain=1 / 180,
    ),
}
MORE = [
    line.replace("\\u202f", "\u202f").replace("\\u2009", "\u2009").replace("\\xa0", "\xa0")
    for line in (Path(__file__).parent / "oracle_entries.txt").read_text("utf-8").splitlines()
]
UNITS = {
    "Ω": ["", "Ω", " Ω", "k", "kΩ", " kΩ", "M", "MΩ", "m", "mΩ", "R", "ohm", " ohms", "V"],
    "V": ["", "V", " V", "mV"],
}
UNITS["V"] += [" mV", "m", "kV", "k", "v", " DC", "VDC", " AC", "~", "A", "mA", "Ω", "M"]


def entries(trial: Trial, random: Random) -> list[str]:
    """Figures about every limit and far from it, in the spellings people use."""
    limits = trial.limits
    anchors = {x for x in (limits.low, limits.high, limits.stop_above, limits.stop_below) if x is not None}
    anchors |= {(limits.low + limits.high) / 2} if None not in (limits.low, limits.high) else set()
    shares = (0.1, 0.5, 0.9, 0.97, 0.99, 0.998, 0.9999, 1, 1.0001, 1.002, 1.01, 1.03, 1.1, 2, 10, 1000, 1e-3, -1, 0)
    made = []
    for value in sorted(anchors):
        for share in shares:
            shown = value * share / trial.gain
            for power in (0, 3, 6, -3) if trial.unit == "Ω" else (0, -3):
                digits = random.choice((1, 2, 3, 4, 5))
                number = f"{shown / 10.0**power:.{digits}g}"
                if "e" in number:
                    number = f"{float(number):.4f}" if random.random() < 0.5 else number
                unit = random.choice(UNITS[trial.unit])
                text = f"{number}{unit}"
                made.append(text.replace(".", ",") if random.random() < 0.2 else text)
    return [*dict.fromkeys([*made, *MORE, *(f"{n}{u}" for n in MORE[:12] for u in UNITS[trial.unit])])]


@pytest.fixture
def bench():
    revision = factories.make_revision(stages=2, checks=0, steps=0, issued=False, parts=PARTS)
    stage = revision.stages.get(position=1)
    rows = [
        Check(stage=stage, position=n, key=f"c{n}", title=name, **({"red": "a"} | trial.figures))
        for n, (name, trial) in enumerate(TRIALS.items(), 1)
    ]
    Check.objects.bulk_create(rows)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    builder = factories.make_builder()
    meter = Meter.objects.create(owner=builder, name="6000 counts", spec=METER.as_dict())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk), builder=builder, meter=meter)
    return build, {c.title: c for c in Check.objects.select_related("stage__revision").filter(stage=stage)}


def answered(context, typed: str, button: str | None, sure: bool = False) -> str:
    """ "pass", "confirms" (a second one like it passes), "no" (out, or too close for good), "stop", or "asked"."""
    offered = ReadingForm(context=context).fields["unit"]
    unit = (offered.initial or "") if button is None else button
    form = ReadingForm(
        {"typed": typed, "unit": unit, "entry_key": "5f2b1c1e-53f1-4d0a-9c8e-6f0f6a3b7d11"}, context=context
    )
    if not form.is_valid():
        return "asked"
    try:
        judged = context.judged(form.cleaned_data["typed"])
        if not sure and judged.likely_typing_error():
            return "asked"
    except ChecksError:
        return "asked"
    outcome = judged.verdict.outcome.value
    if outcome == "too close to call":
        return "confirms" if judged.verdict.confirms else "no"
    return {"in band": "pass", "switch off": "stop"}.get(outcome, "no")


def wrong(trial: Trial, context, typed: str, button: str | None) -> str:
    """What is wrong about the site's answer to an entry; empty where an engineer agrees."""
    offered = ReadingForm(context=context).fields["unit"]
    pressed = (offered.initial or "") if button is None else button
    got = answered(context, typed, button, sure=True)
    meant = meanings(typed, pressed, trial.unit, trial.limits.high == 0.5)
    at_probe = [m if m.over else Meaning(m.value * trial.gain) for m in meant]
    raw = [m if m.over else Meaning(m.value * (trial.gain if trial.gain < 0.1 else 1.0)) for m in meant]
    if got in ("pass", "confirms"):
        if not meant:
            return f"{got}, though it is no reading"
        for one in at_probe:
            if one.over and not (one.over > 0 and trial.limits.high is None and trial.unit == "Ω"):
                return f"{got}, though over range"
            if not one.over and (not trial.limits.lets_in(one.value) or (trial.unit == "Ω" and one.value < 0)):
                return f"{got}, though {one.value:g} lies out"
    pasts = [_past(trial.limits, shown, true) for shown, true in zip(raw, at_probe, strict=True)]
    if meant and all(pasts) and got == "no":
        return "no stop, though every meaning is past it"
    return ""


def _past(limits: Limits, shown: Meaning, true: Meaning) -> bool:
    if shown.over:
        return limits.stop_above is not None if shown.over > 0 else limits.stop_below is not None
    return limits.is_past_stop(shown.value) or limits.is_past_stop(true.value)


@pytest.mark.lengthy
@pytest.mark.parametrize("name", TRIALS)
def test_no_entry_passes_that_an_engineer_would_call_out_and_no_stop_stays_silent(bench, name):
    build, checks = bench
    trial = TRIALS[name]
    if trial.volts:
        build.mains_volts = trial.volts
    context = build_context(build, checks[name], trial.mains)
    tried, faults, counts = 0, [], {}
    buttons = (None, *(unit for unit, _label in ReadingForm(context=context).fields["unit"].choices))
    for typed in entries(trial, Random(name)):
        for button in buttons:
            tried += 1
            fault = wrong(trial, context, typed, button)
            got = answered(context, typed, button)
            counts[got] = counts.get(got, 0) + 1
            if fault:
                faults.append(f"{typed!r} [{button}]: {fault}")
    assert tried > 500 and counts["pass"] + counts.get("confirms", 0) >= 3 and counts["no"] >= 10, counts
    assert not faults, f"{len(faults)} of {tried}:\n" + "\n".join(faults[:40])


@pytest.mark.parametrize(
    ("typed", "button", "unit", "expected"),
    [
        ("3", "Ω", "Ω", {3.0}),
        ("1m", "", "Ω", {1e-3, 1e6}),
        ("4k7", "", "Ω", {4700.0}),
        ("1,234", "V", "V", {1.234, 1234.0}),
        ("1.234,5", "V", "V", {1234.5}),
        ("３．１６", "V", "V", {3.16}),
        ("1e-3", "V", "V", {1e-3}),
        ("12", "", "Ω", {12.0, 12e3, 12e6}),
        ("abc", "V", "V", set()),
    ],
)
def test_the_engineer_reads_an_entry_in_every_way_it_may_be_meant(typed, button, unit, expected):
    assert {m.value for m in meanings(typed, button, unit)} == expected


@pytest.mark.parametrize(
    "typed", ["0", "23", "2300", "-230", "OL", "230 Ω", "23O", "2.3", "230 DC", "1,234", "230 mV", "79", "281"]
)
def test_a_mains_voltage_that_no_outlet_has_is_not_taken(typed):
    assert "mains" in CautionsForm({"read": "on", "mains": typed}).errors


@pytest.mark.parametrize("typed", ["230", "230.5 V", "231~", "115", "0.23 kV", ""])
def test_a_mains_voltage_that_an_outlet_may_have_is_taken(typed):
    assert "mains" not in CautionsForm({"read": "on", "mains": typed}).errors


@pytest.mark.parametrize("measured", [80.0, 115.0, 126.0, 230.0, 253.0, 280.0])
@pytest.mark.parametrize("nominal", [115, 120, 220, 230, 240])
@pytest.mark.parametrize("tap", [115.0, 220.0, 230.0, 240.0])
def test_no_line_however_it_was_read_moves_a_band_past_what_the_supply_may_be(nominal, tap, measured):
    """IEC 60038:2009 and ANSI C84.1-2020: at most 10 % above nominal and 14 % below it at the outlet, whichever tap."""
    line = line_for(230.0, measured_volts=measured, nominal_volts=float(nominal), tap_volts=tap)
    assert line.factor * (1 - line.fall) >= 0.86 - 1e-9 and line.factor * (1 + line.spread) <= 1.1 + 1e-9
