"""A suggestion fits what was found to be the cause and what was decided."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from builds.reports.edits import of_check
from builds.review.changes.case import Case
from builds.review.changes.suggest import advise, suggest, suggest_step
from builds.review.models import Cause, Decision
from builds.ui.messages.suggestions import AdviceCode
from checks.band import Band
from checks.statistics.agreement import Agreement
from checks.statistics.agreement import Verdict as Sources
from checks.statistics.evidence import Label
from checks.statistics.findings import Evidence, find
from checks.statistics.proportions import wilson
from checks.statistics.summary import summarise
from checks.statistics.tolerance import Proposal

SCATTERED = (1.3, -1.4, 0.5, -0.8, 1.6, -1.2, 0.9, -0.3)  # in half-bands: a band too tight
SHIFTED = tuple(1.8 + n / 50 for n in range(8))
WIDER, NARROWER = Proposal(300.0, 240.0, 360.0, 8, 0.95), Proposal(300.0, 280.0, 320.0, 8, 0.95)


def case(deviations=SCATTERED, proposal=WIDER, **more) -> Case:
    check = SimpleNamespace(
        unit="V",
        title="V2 pin 3",
        stage=SimpleNamespace(title="Valves in"),
        expected="300 V",
        band="10%",
        low="",
        high="",
        hints=[],
        note="",
        is_left_to_model=False,
        read_with="",
    )
    missed = sum(abs(d) > 1 for d in deviations)
    return Case(
        check,
        Band(low=270, high=330, expected=300),
        summarise([300 + 30 * d for d in deviations]),
        find(Evidence(tuple(deviations))),
        wilson(missed, len(deviations)),
        proposal,
        **more,
    )


def decision(state, reason="It is right as it is"):
    return SimpleNamespace(state=state, reason=reason, draft=SimpleNamespace(letter="B"), edits=[], check_row=None)


def test_scatter_alone_widens_the_band():
    plain = case()
    assert plain.sense.kind == "band too tight" and suggest(plain).startswith("Widen the band")
    assert [e.what for e in of_check(plain, "")] == ["band"]


@pytest.mark.parametrize(
    "more",
    [
        {"stops": 1},
        {"danger": True},
        {"causes": ((Cause.WORKMANSHIP, "FW-004"),)},
        {"causes": ((Cause.PART, "FW-004"),)},
        {"causes": ((Cause.METER, "FW-004"),)},
        {"confirmed": (("low", "C9 is backwards", ("FW-004",)),)},
        {"proposal": NARROWER},
    ],
)
def test_no_wider_band_is_suggested_after_a_stop_a_danger_or_a_fault_of_the_builds(more):
    """Neither after a stop or danger, nor for what was found to be wrong with the builds, nor to a narrower band."""
    made_case = case(**more)
    assert made_case.sense.kind == "band too tight"
    assert "iden" not in suggest(made_case) and suggest(made_case).strip()
    assert of_check(made_case, "") == ()


def test_the_cause_and_its_builds_are_named():
    suggestion = suggest(case(causes=((Cause.WORKMANSHIP, "FW-004"), (Cause.WORKMANSHIP, "FW-002"))))
    assert suggestion.startswith("The cause was workmanship (FW-002, FW-004): keep the expected value and the band.")
    assert "1 build went past it" in suggest(case(stops=1)) and "2 builds went" in suggest(case(stops=2))


def test_a_figure_wrong_for_everyone_stays_wrong_when_one_build_had_a_fault_of_its_own():
    one = case(SHIFTED, causes=((Cause.WORKMANSHIP, "FW-004"),))
    assert one.sense.kind == "figure off" and "Change the expected value" in suggest(one) and of_check(one, "")
    most = case(SHIFTED, causes=tuple((Cause.PART, f"FW-00{n}") for n in range(5)))
    assert "Change" not in suggest(most) and of_check(most, "") == ()


def test_after_a_stop_the_figure_moves_only_when_it_was_found_to_be_the_cause():
    assert "Change" not in suggest(case(SHIFTED, stops=3)) and of_check(case(SHIFTED, stops=3), "") == ()
    assert "Change the expected value" in suggest(case(SHIFTED, stops=3, causes=((Cause.FIGURE, "FW-001"),)))


def test_what_was_decided_comes_first():
    rejected = case(decision=decision("rejected"))
    assert (
        suggest(rejected, "Print 346 V.") == "Rejected: nothing to change. It is right as it is."
        and of_check(rejected, "x") == ()
    )
    assert suggest(case(decision=decision("accepted", ""))) == "Accepted, and written into revision B."
    assert suggest(case(decision=decision("deferred", "Wait for three more"))).startswith(
        "Deferred. Wait for three more. Widen"
    )
    assert suggest(case(), "Print 346 V.") == "Print 346 V."


def test_single_builds_are_named_and_snags_are_read_only_where_there_are_some():
    single = case((0.0, 0.1, -0.1, 0.05, 0.02, 5.0), None, out=("FW-003",))
    assert suggest(single) == "Nothing to change in the guide; see FW-003."
    agreed = case((0.0, 0.1, -0.1, 0.05, 0.02, 0.03), None)
    assert "snags" not in suggest(agreed) and "snags" in suggest(
        case((0.0, 0.1, -0.1, 0.05, 0.02, 0.03), None, snags=1)
    )


def test_a_step_is_rewritten_unless_its_snag_was_rejected():
    step = SimpleNamespace(text="Solder **C9** to pin 3.")
    assert suggest_step(step, (), "") == "Rewrite this step: Solder C9 to pin 3."
    assert (
        suggest_step(step, (decision(Decision.State.REJECTED),), "")
        == "Rejected: nothing to change. It is right as it is."
    )
    assert suggest_step(None, (decision(Decision.State.DEFERRED),), "").endswith("what misled them.")


def test_a_hint_that_the_check_gives_already_is_not_proposed_again():
    made_case = case(confirmed=(("low", "C9 is backwards", ("FW-004", "FW-005")),))
    assert [(e.what, e.after) for e in of_check(made_case, "")] == [("hint when low", "Seen before: C9 is backwards.")]
    made_case.check.hints.append({"when": "low", "text": "Look whether C9 is backwards."})
    assert of_check(made_case, "") == ()


IN_BAND = (-0.4, -0.5, -0.2, -0.55, -0.3, -0.45, -0.35, -0.5)  # in half-bands: a figure that stands


def advice_on(**more):
    return [advice.code for advice in advise(case(IN_BAND, None, **more))]


def test_nothing_to_change_is_said_only_where_all_read_right_and_agree():
    assert advice_on() == [AdviceCode.NOTHING]
    assert advice_on(out=("FW-009",)) == [AdviceCode.SINGLE_BUILDS]
    apart = Agreement(Sources.BUILDS_APART, 300.0, 300.0, 280.0, 8)
    assert advice_on(agreement=apart) == advice_on(agreement=apart, out=("FW-009",)) == [AdviceCode.BUILDS_APART]
    agreed = Agreement(Sources.AGREE, 300.0, 300.0, 290.0, 8)
    assert advice_on(agreement=agreed) == [AdviceCode.NOTHING]


@pytest.mark.parametrize(
    ("label", "code"),
    [
        ("meter:", AdviceCode.MEASURE_AGAIN),
        ("mains:", AdviceCode.MEASURE_AGAIN),
        ("batch:R8,R11", AdviceCode.COMPARE_GROUPS),
        ("make:V1", AdviceCode.COMPARE_GROUPS),
    ],
)
def test_groups_that_differ_by_how_they_were_measured_blame_no_part(label, code):
    """Six builds read as the guide says and six two half-bands above it, just as the label parts them."""
    deviations = tuple(0.1 * (-1) ** n + 2.0 * (n % 2) + 0.02 * n for n in range(12))
    groups = tuple("ab"[n % 2] for n in range(12))
    sense = find(Evidence(deviations, 0.02, labels=(Label(label, groups),)))
    assert sense.kind == "part batch" and sense.label == label
    assert [advice.code for advice in advise(replace(case(), sense=sense))] == [code]
