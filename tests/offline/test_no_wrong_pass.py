"""Whatever the band, the meter and the reading: nothing passes, on the site or on a phone by itself, that lies beyond
its limit as typed or corrected for the meter's load. What lies inside is worked out here, by the band's own figures."""

from dataclasses import dataclass
from random import Random

import pytest

from builds.accounts.models import Meter
from builds.bench.offline.judging import rules_for
from builds.bench.readings.context import build_context
from builds.guides.models import Check
from checks.errors import ChecksError
from checks.meter import PRESETS, Accuracy, MeterSpec
from tests import factories
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.test_judged_alike import on_the_phone, phone  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
GUARD = 2e-9  # of a limit
METERS = {
    "10 MΩ": MeterSpec("digital", Accuracy(0.5, 3), Accuracy(1, 3), Accuracy(1, 3), input_ohms=10e6),
    "1 MΩ": MeterSpec("digital", Accuracy(1, 5), Accuracy(2, 5), Accuracy(2, 5), input_ohms=1e6),
    "needle": PRESETS["analogue"],
}
OFF = (0, 1e-6, -1e-6, 0.001, -0.001, 0.01, -0.01, 0.05, -0.05, 0.2, -0.2, 2, -0.9)
PREFIXES = {"V": (("", 1), ("m", 1e-3), ("k", 1e3)), "Ω": (("", 1), ("k", 1e3), ("M", 1e6))}


@dataclass(frozen=True)
class Limits:
    unit: str
    low: float | None
    high: float | None
    source: float = 0.0

    def hold(self, value: float) -> bool:
        value = abs(value) if self.low is None else value
        above = self.low is None or value >= self.low - GUARD * abs(self.low)
        return above and (self.high is None or value <= self.high + GUARD * abs(self.high))

    def corrected(self, value: float, meter: MeterSpec) -> float:
        return value * (1 + self.source / (meter.input_ohms or meter.ohms_per_volt * meter.range_for(value)))


def drawn(rng: Random, measure: str) -> tuple[dict, Limits]:
    """A check's figures as a guide has them, and its limits."""
    unit = "V" if "volts" in measure else "Ω"
    edge = 10 ** rng.uniform(-1, 3 if unit == "V" else 6)
    wide = rng.uniform(0.02, 0.3) * edge
    kinds = [(edge - wide, edge + wide), (None, edge), (edge, None)]
    kinds += [(-edge, wide), (-edge - wide, wide - edge)] if measure == "dc volts" else []
    low, high = (end if end is None else float(f"{end:.3g}") for end in rng.choice(kinds))
    names = ("at_least", "at_most") if None in (low, high) else ("low", "high")
    figures = {name: f"{end:g} {unit}" for name, end in zip(names, (low, high), strict=True) if end is not None}
    source = rng.choice((0.0, 1e5, 4.7e5, 1e6)) if measure == "dc volts" else 0.0
    return {"measure": measure, "source_resistance": f"{source:g}" if source else "", **figures}, Limits(
        unit, low, high, source
    )


def typed_near(rng: Random, limits: Limits) -> tuple[str, float]:
    edge = rng.choice([end for end in (limits.low, limits.high) if end is not None])
    (prefix, scale), value = rng.choice(PREFIXES[limits.unit]), edge * rng.choice((1, 1, 1, -1)) * (1 + rng.choice(OFF))
    figure = f"{value / scale:.{rng.randrange(5)}f}"
    return f"{figure} {prefix}{limits.unit}", float(figure) * scale


def site_passes(context, typed: str) -> bool:
    """At once, or once a second attempt like it confirms it."""
    try:
        return context.judged(typed).verdict.confirms
    except ChecksError:
        return False


@pytest.mark.lengthy
@pytest.mark.parametrize("name", METERS)
def test_nothing_passes_beyond_its_limit_on_the_site_or_on_the_phone(phone, name):  # noqa: F811
    rng, revision = Random(len(name)), factories.make_revision(stages=1, checks=0, steps=0, issued=False)
    stage, limits, entries = revision.stages.get(), {}, []
    for n in range(30):
        figures, limits[f"c{n}"] = drawn(
            rng, rng.choice(("dc volts", "dc volts", "ac volts", "resistance", "continuity"))
        )
        Check.objects.create(
            stage=stage, position=n + 1, key=f"c{n}", title=f"c{n}", red="a", mains_exponent=0.0, **figures
        )
    builder = factories.make_builder()
    meter = Meter.objects.create(owner=builder, name=name, spec=METERS[name].as_dict())
    build = factories.make_build(revision=revision, builder=builder, meter=meter)
    contexts = {check.key: build_context(build, check, None) for check in stage.checks.select_related("stage")}
    entries = [(key, *typed_near(rng, limits[key])) for key in contexts for _ in range(25)]
    rules = {key: rules_for(context) for key, context in contexts.items()}
    codes = on_the_phone(phone, [(key, typed, "") for key, typed, _value in entries], rules)
    passed = [
        (key, typed, limits[key].hold(limits[key].corrected(value, METERS[name])), limits[key])
        for (key, typed, value), code in zip(entries, codes, strict=True)
        if code == "i" or site_passes(contexts[key], typed)
    ]
    assert [row for row in passed if not row[2]] == []
    assert len(passed) > 100  # there was something to pass
