"""What may be wrong, said while the page says switch off: no cause is named that would make the point read the other
way. A half dry joint before the transformer lowers a heater's volts; it never explains ten times as many."""

from types import SimpleNamespace

import pytest
from django.utils import timezone

from builds.bench.diagnosis.advice import advise_on
from builds.bench.diagnosis.causes import list_causes
from builds.bench.gates.facts import load_facts
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision
from checks.circuit import part_from_mapping
from checks.diagnosis import Observation, prepare, rank
from checks.diagnosis.advice import AdviceCode
from tests import factories
from tests.checks.circuit.kits import resistor, transformer

FUSE = {"ref": "F1", "kind": "fuse", "value": "1 A", "ohms": "0.2R", "joins": ["mains.inlet", "mains.fused"]}
SWITCH = {"ref": "S1", "kind": "switch", "open_when_off": True, "joins": ["mains.fused", "mains.live"]}
IRON = transformer(("heater", "6.3 V", "0.15R", ("h.a", "h.b")))
PARTS = [FUSE, SWITCH, IRON, resistor("R1", "h.a", "chassis", "100"), resistor("R2", "h.b", "chassis", "100")]
STAGES = [
    {
        "key": "cold",
        "power": "off",
        "not_fitted": [],
        "checks": [{"key": "lift", "measure": "resistance", "red": "h.a", "black": "chassis", "through": ""}],
    },
    {
        "key": "first",
        "power": "on",
        "not_fitted": [],
        "checks": [{"key": "heater", "measure": "ac volts", "red": "h.a", "black": "h.b", "through": ""}],
    },
]


@pytest.fixture(scope="module")
def prepared():
    return prepare([part_from_mapping(row) for row in PARTS], STAGES, samples=24)


@pytest.mark.parametrize("times", [3, 10, 40])
def test_a_heater_at_many_times_its_volts_is_laid_to_no_joint_that_would_lower_them(prepared, times):
    good = float(prepared.nominal[prepared.index["first/heater"]])
    past = Observation("first/heater", times * good, 0.01 * times * good, past_stop=True, line_known=True)
    ranking = rank(prepared, [past]).condition_on_fault()
    place = prepared.index["first/heater"]
    row = {fault.key: n for n, fault in enumerate(prepared.faults, 1)}
    named = [group.faults[0] for group in ranking.groups if group.probability >= 0.04]
    assert all(prepared.mean[row[fault.key], place] > prepared.mean[0, place] for fault in named), named
    assert ranking.other > 0.9 or named


@pytest.mark.parametrize("share", [0.3, 0.6])
def test_the_same_joints_are_named_where_the_volts_are_low(prepared, share):
    good = float(prepared.nominal[prepared.index["first/heater"]])
    low = Observation("first/heater", share * good, 0.01 * good, repeated=True, line_known=True)
    kinds = {fault.kind for group in rank(prepared, [low]).groups[:4] for fault in group.faults}
    assert kinds & {"cold contact", "cold joint"}


def test_no_cause_is_named_that_explains_nothing(prepared):
    """33 V with the wrong sign, or anything else that no fault makes: faults that only other readings could show have
    as much to do with it as the weather."""
    good = float(prepared.nominal[prepared.index["first/heater"]])
    odd = Observation("first/heater", 6 * good, 0.01 * good, line_known=True)
    ranking = rank(prepared, [odd])
    guide = SimpleNamespace(stages=())
    named = {fault.key for cause in list_causes(ranking, prepared, "first/heater", guide) for fault in cause.at}
    assert "R1 open" in ranking.idle and not named & ranking.idle


def test_a_cause_of_many_sizes_is_not_said_to_leave_the_check_as_it_is_or_to_take_it_to_one_figure(prepared):
    """A joint may drop a tenth of a volt or all of them: it reads neither 1.8 V nor as in a good kit."""
    good = float(prepared.nominal[prepared.index["first/heater"]])
    low = Observation("first/heater", 0.8 * good, 0.01 * good, repeated=True, line_known=True)
    causes = list_causes(rank(prepared, [low]), prepared, "first/heater", SimpleNamespace(stages=()))
    sizes = {prepared.faults[row - 1].key for row in set(prepared.size_row.tolist())}
    sized = [cause for cause in causes if cause.fault.key in sizes]
    assert sized and all(cause.moves and not cause.would_read for cause in sized)


def advise_in(revision: Revision, typed: str):
    """On a reading of the first powered check, in a build of this revision."""
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    acknowledge(open_sitting(build), revision.stages.get(key="stage-2"), 230.0)
    row = Check.objects.select_related("stage__revision").get(stage__revision=revision, key="check-2-1")
    reading = take_reading(build, row, typed, by=build.builder, mains_volts=230.0)
    return advise_on(build, row, reading, load_facts(build), None)


@pytest.mark.django_db
@pytest.mark.parametrize("red", ["ht", "=the + tag of the reservoir"])
@pytest.mark.parametrize(("typed", "is_named"), [("-316 V", True), ("-0.40 V", False), ("220 V", False)])
def test_a_supply_below_zero_names_swapped_leads_or_a_reversed_rectifier_with_a_screen_on_it_or_in_words(
    typed, is_named, red
):
    screen = {"anode": "a", "screen": "ht", "grid": "g", "cathode": "k"}
    valve = {"ref": "V1", "kind": "pentode", "detail": {"type": "EL84", "base": "B9A", "joins": screen}}
    revision = factories.make_revision(stages=2, checks=1, steps=0, gate=False, issued=False, parts=(valve,))
    Check.objects.filter(stage__revision=revision, key="check-2-1").update(red=red)
    advice = advise_in(revision, typed)
    assert advice.lead.code is AdviceCode.SWITCH_OFF
    assert (AdviceCode.NEGATIVE_SUPPLY in {one.code for one in advice.folded}) is is_named


@pytest.mark.django_db
@pytest.mark.parametrize(("typed", "is_named"), [("33.1 V", True), ("0.40 V", False), ("-3.30 V", False)])
def test_a_bias_with_the_wrong_sign_names_swapped_leads_or_a_reversed_diode_as_a_supply_does(typed, is_named):
    revision = factories.make_revision(stages=2, checks=1, steps=0, gate=False, issued=False)
    Check.objects.filter(stage__revision=revision, key="check-2-1").update(
        expected="-33 V", band="8%", stop_above="", red="bias"
    )
    advice = advise_in(revision, typed)
    assert advice.lead.code is AdviceCode.SWITCH_OFF
    assert (AdviceCode.NEGATIVE_SUPPLY in [one.code for one in advice.folded]) is is_named
