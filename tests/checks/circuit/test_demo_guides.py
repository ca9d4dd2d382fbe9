"""Both demonstration guides under every condition their stages set, against scipy on equations written apart."""

import numpy as np
import pytest

from checks.circuit import read_condition
from checks.circuit.prediction.nominal import solve_nominal
from tests.checks.circuit import kits
from tests.checks.circuit.independent import Kit

MILLIVOLT = 1e-3
GUIDES = {name: kits.guide(name) for name in ("five-watt", "line-preamp")}
STAGES = [
    (name, stage["key"]) for name, guide in GUIDES.items() for stage in guide["stage"] if stage.get("power") == "on"
]
# IEC 60038: 230 V, 10 % either way; and half, as from a variable transformer.
WARM = 1 + 0.0039 * 30  # copper, 0.39 %/K, windings 30 K warmer than cold ones
LINES = {"known": 1.0, "low": 207 / 230, "high": 253 / 230, "half": 0.5}


def test_every_powered_stage_of_both_guides_is_here():
    assert {name for name, _ in STAGES} == set(GUIDES)
    assert len(STAGES) == 6


@pytest.mark.lengthy
@pytest.mark.parametrize("line", LINES)
@pytest.mark.parametrize(("name", "key"), STAGES)
def test_every_node_agrees_with_scipy_to_a_millivolt(name, key, line):
    guide = GUIDES[name]
    stage = next(s for s in guide["stage"] if s["key"] == key)
    condition = read_condition(stage, guide["kit"]["mains"], line=LINES[line])
    net, point = solve_nominal(kits.parts_of(*guide["part"]), condition)
    turned = stage.get("settings", {})
    parts = [row | ({"setting": turned[row["ref"]]} if row["ref"] in turned else {}) for row in guide["part"]]
    expected = Kit(parts, stage.get("not_fitted", ()), LINES[line], WARM).solve()
    result = np.array([float(point.volts[0, net.node(node)]) for node in expected])
    assert np.abs(result - list(expected.values())).max() < MILLIVOLT


@pytest.mark.lengthy
@pytest.mark.parametrize("name", GUIDES)
def test_the_comparison_is_made_on_working_kits(name):
    """Guards against comparing nothing with nothing: with its valves in, a kit's supply stands above 200 V."""
    assert max(Kit(GUIDES[name]["part"]).solve().values()) > 200
