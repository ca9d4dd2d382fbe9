"""One entry has one outcome, whichever way it is put in: the field of a check, readings in a row, a filled worksheet, a
program with a token, and a phone that judges by itself. None of them passes what another refuses.

The entries are those that a tired hand, a foreign keyboard or a paste leave behind; all are sent by HTTP.
"""

import json
import os
from datetime import timedelta
from uuid import uuid4, uuid5

import pytest
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from builds.accounts.models import Meter
from builds.bench.models import Reading
from builds.guides.models import Check, Revision
from builds.operations.api.tokens import make
from checks.outcomes import Outcome
from tests import factories
from tests.dangers.driving import ERRORS, JUDGED, METER

pytestmark = pytest.mark.django_db
PARTS = ({"ref": "R10", "kind": "resistor", "value": "180R", "tolerance": "1%"},)
FIGURES = {
    "bplus": {"measure": "dc volts", "low": "285 V", "high": "335 V", "stop_above": "400 V"},
    "behind-470k": {"measure": "dc volts", "low": "285 V", "high": "335 V", "source_resistance": "470k"},
    "bias": {"measure": "dc volts", "low": "-34 V", "high": "-28 V", "stop_above": "-20 V"},
    "grid": {"measure": "dc volts", "low": "-500 mV", "high": "300 mV"},
    "leak": {"measure": "dc volts", "at_most": "60 mV"},
    "at-least": {"measure": "dc volts", "at_least": "200 V", "stop_above": "400 V"},
    "heater": {"measure": "ac volts", "low": "6.0 V", "high": "6.6 V", "stop_above": "7.5 V"},
    "signal": {"measure": "ac volts", "low": "90 mV", "high": "110 mV"},
    "hum": {"measure": "ac volts", "at_most": "2 mV"},
    "current": {"measure": "current", "through": "R10", "expected": "45.5 mA", "band": "10%", "stop_above": "65 mA"},
    "earth": {"measure": "resistance", "at_most": "500 mΩ"},
    "bond": {"measure": "continuity", "at_most": "1 Ω"},
    "r100k": {"measure": "resistance", "expected": "100 kΩ", "band": "10%"},
    "winding": {"measure": "resistance", "low": "9 Ω", "high": "15 Ω"},
    "apart": {"measure": "resistance", "expected": "open"},
    "insulation": {"measure": "isolation", "at_least": "20 MΩ"},
    "warm": {"measure": "temperature", "low": "30 °C", "high": "60 °C"},
    "hertz": {"measure": "frequency", "low": "49 Hz", "high": "51 Hz"},
}
NUMBERS = (
    "3",
    "1",
    "1.",
    "310",
    "310.4",
    "-31.2",
    "−31.2",
    "–31.2",
    "—31.2",
    "－31.2",
    "‐31.2",
    "﹣31.2",
    "3１0.4",
    "٣١٠٫٤",
    "٣١٠",
    "३१०",
    "1,234",
    "1.234.5",
    "1.234,5",
    "99 800",
    "99\u00a0800",
    "99\u2009800",
    "99'800",
    "\u00a0310.4\u00a0",
    "310.4\u200b",
    "\ufeff310.4",
    "310·4",
    "310:4",
    "3.1e2",
    "3,1E2",
    "3.1×10²",
    "310²",
    "310 320",
    "310/320",
    "310-320",
    "310…320",
    "310 ± 2",
    "310±2",
    "~310",
    "≈310",
    "about 310",
    "< 0.1",
    "> 20M",
    ">20 MΩ",
    "OL",
    "−OL",
    "0L",
    "O.L",
    "0.L",
    ".OL",
    "1---",
    "----",
    "overload",
    "∞",
    "-∞",
    "∞ MΩ",
    "open",
    "short",
    "nil",
    "-",
    "0",
    "0.0",
    "0.00",
    "-0.0",
    "0.3",
    ".3",
    "0,3",
    "6.3",
    "6.31",
    "41.5",
    "50.0",
    "8.19",
    "100",
    "100.0",
    "99.8",
    "12.0",
    "12",
    "25.0",
)
WITH_UNITS = (
    "1m",
    "2.2m",
    "300m",
    "300 mΩ",
    "300 MΩ",
    "0.3 Ω",
    "0.3Ω",
    "0.3 ohm",
    "0.3 Ohms",
    "0.1 MΩ",
    "0.10 MΩ",
    "0.1 mΩ",
    "0.0998 MΩ",
    "99.8 kΩ",
    "99.8K",
    "99.8 KΩ",
    "99k8",
    "100K",
    "4k7",
    "4K7",
    "47R",
    "12R0",
    "0R3",
    "R30",
    "r30",
    "12.0 Ω",
    "12.0 kΩ",
    "25.0 MΩ",
    "25.0M",
    "25.0m",
    "25000k",
    "310.4 V",
    "310.4v",
    "310.4V DC",
    "310.4 VDC",
    "310.4 Vdc",
    "310.4 V AC",
    "310.4 V~",
    "310.4 Vpp",
    "310.4 V p-p",
    "310.4 Vrms",
    "310.4 Vpk",
    "310.4 mV",
    "310.4 MV",
    "0.3104 kV",
    "0.3104 KV",
    "310400 mV",
    "310V4",
    "6.31 V",
    "6.31 V~",
    "6.31 VAC",
    "6.31 V DC",
    "6310 mV",
    "6V3",
    "17.8 Vpp",
    "100.0 mV",
    "100.0 mVAC",
    "100.0 mV rms",
    "283 mVpp",
    "0.1000 V",
    "1.5 mV",
    "1.5 mA",
    "1.50 mV~",
    "8.19 V",
    "8.19",
    "45.5",
    "45.5 mA",
    "45.5mA",
    "0.0455 A",
    "-31.2 V",
    "−31.2\u00a0V",
    "-31.2 mV",
    "31.2 V",
    "0.10 V",
    "-0.1 V",
    "1.8 V",
    "1.8 mV",
    "41.5 °C",
    "41.5 C",
    "41.5 F",
    "106.7 °F",
    "314 K",
    "41.5 º",
    "50.0 Hz",
    "50.0 hz",
    "0.050 kHz",
    "50.0 kHz",
    "50.0 mHz",
    "3000 rpm",
    "41.5 m°C",
    "OL MΩ",
    "OL kΩ",
    "OL Ω",
    "OL V",
    "-OL V",
    "310.4 Ω",
    "100.0 dB",
    "100.0 %",
    "310.4 W",
)
BUTTONS = {"V": ("", "V", "mV"), "Ω": ("", "Ω", "kΩ", "MΩ")}
WHOLE = bool(os.environ.get("EVERY_ENTRY"))  # by hand: every entry with every button
FEW = 61  # else one in so many, and all of SOME
SOME = (
    "1m",
    "0.1 MΩ",
    "OL",
    "−OL",
    "1",
    "> 20M",
    "∞",
    "1,234",
    "310.4\u200b",
    "45.5 mA",
    "17.8 Vpp",
    "310 320",
    "99 800",
    "300 K",
    "470.0",
    "2.2m",
    "3",
)


@pytest.fixture
def bench(client, monkeypatch):
    monkeypatch.setattr("builds.operations.api.tokens.limits.is_allowed", lambda *_of_a_program: True)
    return make_bench(client)


def make_bench(client):
    revision = factories.make_revision(stages=2, checks=0, steps=0, issued=False, parts=PARTS)
    stage = revision.stages.get(position=1)
    Check.objects.bulk_create(
        Check(stage=stage, position=n, key=key, title=key, red="a", mains_exponent=0.0, optional=True, **figures)
        for n, (key, figures) in enumerate(FIGURES.items(), 1)
    )
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    builder = factories.make_builder()
    meter = Meter.objects.create(owner=builder, name="6000 counts", spec=METER.as_dict())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk), builder=builder, meter=meter)
    client.force_login(builder, backend="django.contrib.auth.backends.ModelBackend")
    return Bench(client, build, make(builder, "a logging meter", ["write-readings"]))


class Bench:
    """A build without power, and the ways in. Each gives the outcome in the table's codes and leaves nothing behind."""

    stage = "stage-1"

    def __init__(self, client, build, token):
        self.client, self.build, self.token = client, build, token

    def single(self, check, typed, unit):
        got, key = self._post("bench:reading", check, typed, unit)
        return self._of(key, got.status_code, lambda: got.context["form"])

    def grid(self, check, typed, unit):
        got, key = self._post("bench:grid-reading", check, typed, unit)
        return self._of(key, got.status_code, lambda: got.context["row"].form)

    def sheet(self, check, typed, unit):
        key, at = uuid4(), timezone.localtime() - timedelta(minutes=1)
        data = {"entry_key": str(key), "day": f"{at:%Y-%m-%d}", "read": "on", f"{check}-typed": typed}
        data |= {f"{check}-unit": unit, f"{check}-at": f"{at:%H:%M}"}
        got = self.client.post(reverse("bench:sheet", args=[self.build.pk, self.stage]), data)
        return self._of(uuid5(key, check), got.status_code, lambda: self._line(got, check))

    @staticmethod
    def _line(got, check):
        (line,) = [line for line in got.context["lines"] if line.key == check]
        assert line.error or line.asks
        if not line.form.errors and not line.asks:
            line.form.add_error("typed", line.error)  # refused when it was judged
        return line.form

    def program(self, check, typed, unit):
        key = str(uuid4())
        got = self.client.post(
            reverse("operations:api-post-reading", args=[self.build.pk, self.stage, check]),
            json.dumps({"typed": typed, "unit": unit, "entry_key": key}),
            content_type="application/json",
            headers={"Authorization": f"Bearer {self.token}"},
        )
        kept = Reading.objects.filter(entry_key=key).first()
        assert (got.status_code == 201) == (kept is not None), got.content
        if kept is None:
            assert got.status_code == 422 and got.json()["error"]["fields"]
            return None
        assert got.json()["switch_off"] == (kept.outcome == Outcome.SWITCH_OFF)
        return JUDGED[kept.outcome]

    def _post(self, name, check, typed, unit):
        key = str(uuid4())
        data = {"typed": typed, "unit": unit, "entry_key": key}
        return self.client.post(reverse(name, args=[self.build.pk, self.stage, check]), data), key

    def _of(self, key, status, form_of):
        kept = Reading.objects.filter(entry_key=key).first()
        if kept:
            assert status == 302
            return JUDGED[kept.outcome]
        assert status == 422, status
        form = form_of()
        if form.ask:
            return "ask_sure"
        codes = {name: {error.code for error in result} for name, result in form.errors.as_data().items()}
        assert codes, "refused without a word"
        return next((ERRORS[c] for result in codes.values() for c in result if c in ERRORS), "refuse")


def tried(bench, way, cell):
    with transaction.atomic():
        got = getattr(bench, way)(*cell)
        transaction.set_rollback(True)
    return got


def cells_of(key):
    shows = "Ω" if FIGURES[key]["measure"] in ("resistance", "continuity", "isolation") else "V"
    buttons = BUTTONS[shows] if FIGURES[key]["measure"] not in ("temperature", "frequency") else ("",)
    every = [(key, typed, unit) for typed in (*NUMBERS, *WITH_UNITS) for unit in buttons]
    start = list(FIGURES).index(key)
    return every if WHOLE else every[start::FEW][:3] + [(key, typed, buttons[-1]) for typed in SOME[start % 4 :: 4]]


@pytest.mark.lengthy
@pytest.mark.parametrize("key", FIGURES)
def test_an_entry_has_the_same_outcome_whichever_way_it_is_put_in(bench, key):
    differ = []
    for cell in cells_of(key):
        answers = {way: tried(bench, way, cell) for way in ("single", "grid", "sheet", "program")}
        kept = {answer if answer in JUDGED.values() else None for answer in answers.values()}
        asked = {answers[way] for way in ("single", "grid")}
        if len(kept) > 1 or len(asked) > 1:
            differ.append((cell, answers))
        if cell[1] in ("310 320", "> 20M", "1,234", "45.5 mA", "17.8 Vpp"):
            assert kept == {None}, (cell, answers)
    assert differ == []
