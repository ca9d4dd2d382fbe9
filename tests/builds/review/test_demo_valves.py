"""Test figures of valves, read in the demo's own numbers: a build's figures follow what its tester showed."""

import functools
import math

import pytest

from builds.bench.models import Build
from builds.bench.readings.context import context_of
from builds.bench.valves import own_valves
from builds.bench.valves.followed import followed
from builds.guides.circuit import stored
from builds.guides.circuit.compute import compute
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
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
    pack_tested_valves(demo._issued("line-preamp", designer), designer)
    row = Build.objects.get(serial=SERIAL)
    if row.valve_figures_id is None:
        own_valves.make_valve_figures(lambda *args: None, row.pk)
    return Build.objects.select_related("revision__kit", "builder", "meter").get(pk=row.pk)


def share_tested(socket: str) -> float:
    """The tester's current over the published one, at the published point; the first half is the one that amplifies."""
    row = next(row for row in TESTED if row[:3] == (SERIAL, socket, "a"))
    assert (row[3], row[6], row[7]) == ("ECC82", 250, -8.5)
    return row[8] / PUBLISHED_AMPS


def test_the_demos_tested_valves_move_their_cathodes_and_narrow_their_bands(build):
    checks = load_guide(build.revision).checks
    shown = {row.check.key: row for row in followed(build)}
    for key, socket in SOCKETS.items():
        guides = band_for(checks[key])
        own = context_of(build, checks[key], None).guide_band
        moved, share = own.expected / guides.expected, share_tested(socket)
        # A weaker valve drops less over its cathode resistor, a stronger one more; and as the drop biases the valve
        # against the difference, by less than the current at a fixed grid does (common practice).
        assert 0 < math.log(moved) / math.log(share) < 1, (key, moved, share)
        assert own.high - own.low < 0.8 * (guides.high - guides.low), key
        assert own.low < own.expected < own.high
        assert shown[key].own_expected != shown[key].guide_expected
        assert shown[key].own_limits != shown[key].guide_limits


def test_what_only_the_guides_band_would_take_is_refused_with_tested_valves(build):
    checks = load_guide(build.revision).checks
    for key in SOCKETS:
        guides = band_for(checks[key])
        own = context_of(build, checks[key], None).guide_band
        edge = 0.99 * guides.high if guides.high - own.high > own.low - guides.low else 1.01 * guides.low
        assert guides.contains(edge) and not own.contains(edge), key
        verdict = context_of(build, checks[key], None).judged(f"{edge:.2f} V").verdict
        assert verdict.outcome not in (Outcome.IN_BAND, Outcome.TOO_CLOSE), key
