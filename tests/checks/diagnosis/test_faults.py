"""The fault list, ranking on few readings, the next reading, coverage and learning."""

import numpy as np
import pytest

from checks.circuit import part_from_mapping
from checks.diagnosis import Fault, Move, Observation, coverage, fault_list, next_reading, prepare, rank, updated_priors
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.slips import SlipKind
from checks.errors import ChecksError
from tests.checks.circuit.kits import capacitor, demo_rows, parts_of, resistor

PARTS = [part_from_mapping(row) for row in demo_rows()]
STAGES = [
    {
        "key": "cold",
        "power": "off",
        "not_fitted": ["V1", "V2"],
        "checks": [
            {"key": "k", "measure": "resistance", "red": "V2.3", "black": "chassis", "through": ""},
            {"key": "g", "measure": "resistance", "red": "V2.2", "black": "chassis", "through": ""},
        ],
    },
    {
        "key": "hot",
        "power": "on",
        "not_fitted": [],
        "checks": [
            {"key": "ht", "measure": "dc volts", "red": "ht.reservoir", "black": "chassis", "through": ""},
            {"key": "k", "measure": "dc volts", "red": "V2.3", "black": "chassis", "through": ""},
            {"key": "a", "measure": "dc volts", "red": "V2.7", "black": "chassis", "through": ""},
        ],
    },
]


@pytest.fixture(scope="module")
def prepared():
    return prepare(PARTS, STAGES, samples=48)


def first(ranking):
    return ranking.groups[0]


def test_every_kind_of_fault_is_thought_of():
    kinds = {f.kind for f in fault_list(PARTS)}
    assert kinds >= {
        "open",
        "short",
        "decade",
        "misread",
        "swapped",
        "dead",
        "weak",
        "gassy",
        "heater",
        "wrong socket",
        "reversed",
        "leaky",
        "capacitor short",
        "bridge",
        "fuse",
        "winding",
        "mains",
        "tap",
        "diode",
        "cold joint",
    }
    assert len(fault_list(PARTS)) >= 150


def test_keys_are_unique_and_each_fault_has_a_code():
    faults = fault_list(PARTS)
    assert len({f.key for f in faults}) == len(faults)
    assert all(f.code is not FaultCode.OWN and not f.words for f in faults)


def two_primaries(*joins):
    """The demo kit with a transformer of two 115 V primaries between these points."""
    rows = demo_rows()
    for row in rows:
        if row["kind"] == "mains transformer":
            first = next(w for w in row["winding"] if w["name"] == "primary")
            rest = [w for w in row["winding"] if w is not first]
            names = ("primary", "Primary 2")
            halves = [
                first | {"name": name, "volts": "115 V", "joins": list(ends)}
                for name, ends in zip(names, joins, strict=True)
            ]
            row["winding"] = [*halves, *rest]
    return fault_list([part_from_mapping(row) for row in rows])


def stops_the_mains(faults):
    """Windings that let no mains through when they are open."""
    opened = [f for f in faults if f.code == FaultCode.WINDING_OPEN]
    return {f.params["winding"] for f in opened if any(m.ref == "line" for m in f.moves)}


@pytest.mark.lengthy
def test_either_of_two_primaries_in_series_stops_the_mains_and_neither_of_two_in_parallel():
    series = two_primaries(("mains.live", "middle"), ("middle", "mains.neutral"))
    assert stops_the_mains(series) == {"primary", "Primary 2"}
    assert not stops_the_mains(two_primaries(*[("mains.live", "mains.neutral")] * 2))
    volts = {f.params["winding"] for f in series if f.code == FaultCode.WINDING_VOLTS}
    assert volts and not volts & {"primary", "Primary 2"}


@pytest.mark.lengthy
def test_a_missing_supply_points_to_the_fuse_before_anything_unlikely(prepared):
    ranking = rank(prepared, [Observation("hot/ht", 0.1, 0.01)])
    assert first(ranking).faults[0].kind in ("fuse", "winding", "short", "capacitor short", "open")
    assert {f.key for g in ranking.groups[:4] for f in g.faults} & {"F1 blown", "F2 blown"}
    assert ranking.healthy < 0.05


@pytest.mark.lengthy
def test_a_cathode_at_twice_its_volts_with_a_resistor_that_reads_twice_is_a_wrong_resistor(prepared):
    both = [Observation("hot/k", 10.9, 0.05), Observation("cold/k", 280.0, 1.5)]
    assert "R10" in first(rank(prepared, both)).faults[0].refs


def test_one_slip_of_the_pen_does_not_condemn_a_kit(prepared):
    good = [
        Observation(p.name, float(v), 0.005 * abs(v) + 0.01)
        for p, v in zip(prepared.places, prepared.nominal, strict=True)
        if p.check
    ]
    slipped = [o if o.place != "hot/a" else Observation("hot/a", o.value * 10, o.u * 10) for o in good]
    assert rank(prepared, slipped).clear > 0.5


def test_an_open_grid_return_is_known_by_over_range(prepared):
    assert "R12 open" in {f.key for f in first(rank(prepared, [Observation("cold/g", None)])).faults}


def test_what_fits_no_fault_is_something_else(prepared):
    values = {"hot/ht": 300.0, "hot/k": 55.0, "hot/a": 40.0, "cold/k": 47.0}
    odd = [Observation(name, value, 0.3) for name, value in values.items()]
    assert rank(prepared, odd).other > 0.5


def test_the_next_reading_prefers_the_power_off(prepared):
    ranking = rank(prepared, [Observation("hot/k", 14.0, 0.1)])
    suggestion = next_reading(prepared, ranking, {"hot/k"})
    assert suggestion.place.power == "off"
    assert suggestion.bits > 0.1
    assert len(suggestion.points_to) >= 2


def test_only_what_is_allowed_is_suggested(prepared):
    ranking = rank(prepared, [Observation("hot/k", 14.0, 0.1)])
    suggestion = next_reading(prepared, ranking, {"hot/k"}, lambda place: place.name == "hot/a")
    assert suggestion is None or suggestion.place.name == "hot/a"


def test_nothing_is_suggested_when_nothing_is_left(prepared):
    ranking = rank(prepared, [Observation("hot/k", 14.0, 0.1)])
    assert next_reading(prepared, ranking, {p.name for p in prepared.places}) is None


def test_coverage_tells_what_is_missed_and_what_to_add(prepared):
    covered = coverage(prepared)
    assert 0.2 < covered.share < 0.95
    assert {f.key for f in covered.missed} >= {"R15 open"}  # no check here looks at the heaters' centre
    assert "R10 open" in {f.key for f, _place, _apart in covered.shown}
    assert covered.adds and covered.adds[0][1]


def test_confirmed_causes_raise_their_own_weight_and_a_little_their_kin():
    faults = fault_list(PARTS)
    before, after = updated_priors(faults, []), updated_priors(faults, ["R10 open", "R10 open"])
    assert after["R10 open"] > 3 * before["R10 open"]
    assert after["R8 open"] > before["R8 open"] * 0.99
    assert after["F1 blown"] < before["F1 blown"]
    assert sum(after.values()) == pytest.approx(1.0)
    assert updated_priors(faults, []) == before  # taking a confirmation back undoes it


def test_priors_move_the_ranking(prepared):
    doubtful = [Observation("hot/ht", 0.1, 0.01)]
    weights = {f.key: f.weight for f in prepared.faults} | {"T1 ht open": 500.0}
    assert "T1 ht open" in {f.key for f in first(rank(prepared, doubtful, weights)).faults}


def test_readings_move_together():
    """Two points on one divider share their scatter."""
    parts = parts_of(
        resistor("R1", "a", "b", "10k"), resistor("R2", "b", "chassis", "10k"), capacitor("C1", "a", "chassis")
    )
    stages = [
        {
            "key": "s",
            "power": "off",
            "not_fitted": [],
            "checks": [
                {"key": k, "measure": "resistance", "red": n, "black": "chassis", "through": ""}
                for k, n in (("a", "a"), ("b", "b"))
            ],
        }
    ]
    prepared = prepare(parts, stages, samples=200)
    a, b = prepared.index["s/a"], prepared.index["s/b"]
    assert prepared.cov[0, a, b] / np.sqrt(prepared.cov[0, a, a] * prepared.cov[0, b, b]) > 0.3


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Fault("x", "", "open", (), 1.0),
        lambda: Fault("x", "words", "open", (), 0.0),
        lambda: Move("R1", "value", 0.0),
        lambda: Observation("a", float("nan")),
        lambda: Observation("a", 1.0, -1.0),
        lambda: updated_priors(fault_list(PARTS), ["R99 open"]),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()


def healthy(prepared, **instead):
    """What a healthy kit reads at every check, but for `instead` (place with _ for /)."""
    values = {p.name: float(v) for p, v in zip(prepared.places, prepared.nominal, strict=True) if p.check}
    values |= {name.replace("_", "/"): v for name, v in instead.items()}
    return [Observation(name, v, 0.004 * abs(v) + 0.01) for name, v in values.items()]


@pytest.mark.parametrize(
    ("place", "factor", "kind"),
    [
        ("hot_a", 0.1, SlipKind.TENTH),
        ("hot_k", 10.0, SlipKind.TEN_TIMES),
        ("cold_k", 1000.0, SlipKind.THOUSAND_TIMES),
        ("hot_a", 1e-9, SlipKind.NO_CONTACT),
    ],
)
def test_a_slip_of_range_or_pen_is_named(prepared, place, factor, kind):
    nominal = prepared.nominal[prepared.index[place.replace("_", "/")]]
    slips = rank(prepared, healthy(prepared, **{place: nominal * factor})).slips
    assert slips and slips[0].place == place.replace("_", "/")
    assert slips[0].kind is kind
    assert slips[0].probability > 0.3


def test_a_probe_on_the_neighbouring_pin_is_named(prepared):
    beside = prepared.nominal[prepared.index["cold/g"]]
    slips = rank(prepared, healthy(prepared, cold_k=beside)).slips
    assert (slips[0].kind, slips[0].pin) == (SlipKind.NEIGHBOUR, "2")


def test_healthy_readings_are_no_slips(prepared):
    assert rank(prepared, healthy(prepared)).slips == ()


def test_a_wire_on_the_neighbouring_pin_and_a_dry_pin_move_the_node_and_not_the_neighbour(prepared):
    """The anode's wire off its tag: the tag reads nothing, and the kit has its B+ still."""
    row = [f.key for f in prepared.faults].index("V2 7 dry") + 1
    values = np.sinh(prepared.mean[row]) * prepared.units
    assert values[prepared.index["hot/a"]] < 10
    assert values[prepared.index["hot/ht"]] > 250
    row = [f.key for f in prepared.faults].index("V2 3 on 2") + 1
    values = np.sinh(prepared.mean[row]) * prepared.units
    assert values[prepared.index["cold/g"]] == pytest.approx(
        180, rel=0.05
    )  # the cathode's 180 Ω is where the grid's 470 kΩ should be
