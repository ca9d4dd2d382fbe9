"""Test figures of valves, read in the demo's own numbers: a build's figures follow what its tester showed."""

import functools
import math

import pytest

from builds.bench.models import Build
from builds.bench.readings.context import build_context
from builds.bench.valves import own_valves
from builds.bench.valves.followed import list_followed
from builds.guides.circuit import stored
from builds.guides.circuit.compute import compute
from builds.guides.demo.files import demo_zip
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import read_guide, store_guide
from builds.review import demo
from builds.review.demo.valves import TESTED, pack_tested_valves
from checks.outcomes import Outcome
from tests import factories

pytestmark = pytest.mark.django_db
# Mullard's data sheet of the ECC82, from memory: 10.5 mA at 250 V on the anode and -8.5 V on the grid.
PUBLISHED_AMPS = 10.5e-3
SOCKETS = {"v-v1-8": "V1", "v-v2-8": "V2"}  # check of the first cathode -> the valve it reads
SERIAL = "LP-001"


@pytest.fixture
def build(monkeypatch):
    monkeypatch.setattr(stored, "compute", functools.partial(compute, samples=200))
    monkeypatch.setattr(demo, "FIGURE_SAMPLES", 200)
    designer = factories.make_designer()
    draft = store_guide(read_guide(demo_zip("line-preamp")), designer)
    pack_tested_valves(demo._issued(draft), designer)
    row = Build.objects.get(serial=SERIAL)
    if row.valve_figures_id is None:
        own_valves.make_valve_figures(lambda *args: None, row.pk)
    return Build.objects.select_related("revision__kit", "builder", "meter").get(pk=row.pk)


def share_tested(socket: str) -> float:
    """The tester's current over the published one, at the published point; the first half is the one that amplifies."""
    row = next(row for row in TESTED if row[:3] == (SERIAL, socket, "a"))
    assert (row[3], row[6], row[7]) == ("ECC82", 250, -8.5)
    return row[8] / PUBLISHED_AMPS


@pytest.mark.slow  # two guides' worth of circuits are solved
def test_the_demos_tested_valves_move_their_cathodes_and_narrow_their_bands(build):
    checks = load_guide(build.revision).checks
    shown = {row.check.key: row for row in list_followed(build)}
    for key, socket in SOCKETS.items():
        guides = band_for(checks[key])
        own = build_context(build, checks[key], None).guide_band
        moved, share = own.expected / guides.expected, share_tested(socket)
        # A weaker valve drops less over its cathode resistor, a stronger one more; and as the drop biases the valve
        # against the difference, by less than the current at a fixed grid does (common practice).
        assert 0 < math.log(moved) / math.log(share) < 1, (key, moved, share)
        assert own.high - own.low < 0.8 * (guides.high - guides.low), key
        assert own.low < own.expected < own.high
        assert shown[key].own_expected != shown[key].guide_expected
        assert shown[key].own_limits != shown[key].guide_limits
        _refuses_what_the_guide_would_take(build, checks[key])


def _refuses_what_the_guide_would_take(build, check):
    """One reading, at the guide's own mains, in a build with the guide's valves and in the one with tested valves."""
    mains, others = float(build.revision.mains_volts), factories.make_build(revision=build.revision)
    guides, own = build_context(others, check, mains).band, build_context(build, check, mains).band
    is_above = guides.high - own.high > own.low - guides.low
    typed = f"{(guides.high + own.high) / 2 if is_above else (guides.low + own.low) / 2:.2f} V"
    assert build_context(others, check, mains).judged(typed).verdict.outcome is Outcome.IN_BAND
    assert build_context(build, check, mains).judged(typed).verdict.outcome is not Outcome.IN_BAND
