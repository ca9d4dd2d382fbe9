"""Under what a kit is read: parts left out, reduced mains, a series lamp, heaters with and without their valves."""

import pytest

from checks.circuit import Condition, circuit_errors, predict, read_condition
from checks.circuit.netlist.remark import RemarkCode
from checks.errors import ChecksError
from tests.checks.circuit import kits
from tests.checks.circuit.kits import parts_of, resistor

PARTS = parts_of(*kits.demo_rows())


def volts(red, condition, black="chassis", measure="dc volts"):
    return predict(PARTS, condition, [(red, black, measure)])[0].value


@pytest.mark.lengthy
def test_without_its_valves_the_supply_rises():
    assert volts("ht.reservoir", Condition(not_fitted=frozenset({"V1", "V2"}))) > 1.08 * volts(
        "ht.reservoir", Condition()
    )


@pytest.mark.lengthy
def test_heaters_fall_when_the_valves_draw_their_current():
    out, fitted = (
        volts("V2.4", Condition(not_fitted=frozenset(refs)), "V2.5", "ac volts") for refs in (("V1", "V2"), ())
    )
    assert out > fitted > 6.0


def test_a_stage_on_half_the_mains_reads_about_half():
    half = read_condition({"power": "on", "supply": {"volts": "115 V"}, "not_fitted": ["V1", "V2"]})
    full = read_condition({"power": "on", "not_fitted": ["V1", "V2"]})
    assert volts("ht.reservoir", half) == pytest.approx(volts("ht.reservoir", full) / 2, rel=0.01)


@pytest.mark.lengthy
def test_a_series_lamp_takes_its_share_and_a_smaller_lamp_more():
    by_lamp = [volts("ht.reservoir", read_condition({"power": "on", "supply": {"lamp": w}})) for w in ("100 W", "40 W")]
    assert by_lamp[1] < by_lamp[0] < volts("ht.reservoir", Condition())


@pytest.mark.lengthy
def test_a_lamp_that_hardly_drops_comes_with_a_word_about_the_magnetising_current():
    idle, loaded = (
        predict(
            PARTS,
            read_condition({"power": "on", "supply": {"lamp": "60 W"}, "not_fitted": out}),
            [("ht.reservoir", "chassis", "dc volts")],
        )[0]
        for out in (["V1", "V2"], [])
    )
    assert RemarkCode.IDLE_LAMP in [note.code for note in idle.notes]
    assert RemarkCode.IDLE_LAMP not in [note.code for note in loaded.notes]


@pytest.mark.lengthy
def test_sixty_hertz_leaves_dc_where_it_was():
    fifty, sixty = (
        volts("ht.reservoir", read_condition({"power": "on"}, {"volts": 230, "hertz": h})) for h in (50, 60)
    )
    assert sixty == pytest.approx(fifty, rel=2e-3)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Condition(power="maybe"),
        lambda: Condition(line=0),
        lambda: Condition(lamp_watts=60, supply_volts=115),
        lambda: Condition(line_spread=0.9),
        lambda: read_condition({"power": "on", "supply": {"battery": "9 V"}}),
    ],
)
def test_a_condition_that_cannot_be_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()


def test_the_demonstration_kits_have_no_troubles():
    assert circuit_errors(PARTS) == []
    assert circuit_errors(parts_of(*kits.preamp_rows())) == []


def test_a_slip_of_the_pen_in_a_node_is_found_and_named():
    rows = [dict(r, joins=["v2.cathod", "chassis"]) if r["ref"] == "R10" else r for r in kits.demo_rows()]
    said = " ".join(str(e) for e in circuit_errors(parts_of(*rows)))
    assert "R10" in said and "v2.cathod" in said
    assert "V2 cathode" in said


def test_a_part_that_cannot_be_read_names_itself_its_line_and_key():
    with pytest.raises(ChecksError, match=r"R1 \(line 1\): value cannot be read"):
        parts_of(resistor("R1", "a", "b", "ten"))
