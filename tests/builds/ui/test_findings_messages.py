"""Findings, proposals and correlations as sentences."""

from dataclasses import replace

import pytest

from builds.ui.messages.findings import (
    agreement_sentence,
    alternatives,
    claim,
    correlation_sentence,
    description,
    distance_to_limit,
    percent,
)
from builds.ui.messages.proposed_bands import basis, find_limit, why_withheld
from builds.ui.messages.suggestions import Advice, AdviceCode, advice_sentence, listed, with_stop
from checks.statistics.agreement import Agreement, Verdict
from checks.statistics.dependence import Circumstance, CircumstanceKind, dependence, trend
from checks.statistics.findings import CheckFinding, Evidence, Kind, find
from checks.statistics.normality import GuideShape
from checks.statistics.tolerance import Limit, Proposal, Reason, Withheld

FOUND = CheckFinding("figure off", 0.93, {"figure off": 0.93, "fits": 0.07}, 0.6, 0.1, 8)


@pytest.mark.parametrize(
    ("shift", "sentence"),
    [
        (0.61, "0.6 of the way to the limit"),
        (-0.6, "0.6 of the way to the limit"),
        (0.97, "as far from it as the limit"),
        (-1.83, "1.8 times as far from it as the limit"),
    ],
)
def test_a_shift_is_given_by_the_distance_to_the_limit(shift, sentence):
    assert distance_to_limit(shift) == sentence


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind not in (Kind.NOT_ENOUGH, Kind.SEVERAL)])
def test_every_finding_has_a_claim_with_its_probability_and_a_description(kind):
    probable = replace(FOUND, kind=kind.value)
    certain = replace(probable, probability=0.999)
    assert claim(probable).endswith("(93 %)") and claim(certain).endswith("(over 99 %)")
    assert claim(probable).split(" (")[0] != claim(certain).split(" (")[0]
    assert "8" in description(probable) and description(probable)[-1] == "."


def test_nothing_is_certain_and_nothing_is_impossible():
    assert (percent(0.9999), percent(0.001), percent(0.42)) == ("over 99 %", "under 1 %", "42 %")


def test_what_else_it_could_be_is_listed_and_never_by_its_code():
    changed = replace(FOUND, each={"figure off": 0.9, "fits": 0.06, "several builds": 0.04, "single builds": 0.001})
    assert alternatives(changed) == "the guide is right (6 %), most builds are faulty (4 %)"
    assert not alternatives(replace(FOUND, each={}))


@pytest.mark.parametrize(
    "evidence",
    [
        Evidence((0.6,) * 9),
        Evidence((1.8, 1.7, 1.9, 1.85)),
        Evidence((0.6,)),
        Evidence((0.6, -0.6, 0.3, 0.9)),
        Evidence((0.1, 5.0, 5.2)),
        Evidence((1.5, -1.6, 0.3, 0.9, -1.1, 1.2, -0.3, 0.9)),
    ],
)
def test_no_description_speaks_of_half_bands_or_codes(evidence):
    hits = find(evidence)
    for sentence in (claim(hits), description(hits), alternatives(hits)):
        assert "half-band" not in sentence and not any(code in sentence for code in ("figure off", "part batch"))


def test_where_builds_lie_names_the_side_and_what_it_is_counted_from():
    above, below = description(FOUND), description(replace(FOUND, shift=-0.6))
    middle = description(replace(FOUND, reference="middle"))
    assert len({above, below, middle}) == 3 and "below" in below and "middle of the band" in middle
    assert "Over range: 3 of 8." in description(replace(FOUND, over=3))


def test_misses_of_a_build_that_is_off_on_all_readings_are_said_to_be_its_meters_or_supplys():
    one, two = (description(replace(FOUND, kind="fits", explained=n)) for n in (1, 2))
    assert "1 of them is off by" in one and "2 of them are off by" in two
    assert "meter" in one and "meter" in two
    assert "meter" not in description(replace(FOUND, kind="fits"))


def test_builds_of_which_one_misses_are_not_said_to_fit_the_band():
    fits = replace(FOUND, kind="fits", n=3, over=0)
    assert description(replace(fits, misses=0)) == "3 builds fit the guide’s band."
    one_out = description(replace(fits, misses=1))
    assert one_out.startswith("2 of 3 builds are in the guide’s band, 1 outside it") and "3 builds fit" not in one_out


def test_a_batch_says_which_label_parts_the_builds():
    changed = replace(FOUND, kind="part batch", label="batch:R5,R6")
    assert "batch of R5, R6" in description(changed)
    assert "R5" not in description(replace(changed, label=""))


PROMISED = Proposal(100.0, 90.0, 110.0, 12, 0.9974, 0.9, 40, guide=GuideShape.NORMAL)
PROMISE = ("this band contains at", "90 of 100", "all 40 checks")


def test_a_proposal_says_what_it_promises_and_what_shortens_it():
    for figure in ("12 builds", "90 % confidence", "99.7 %", "normal distribution", *PROMISE):
        assert figure in basis(PROMISED)
    cut = replace(PROMISED, limit=Limit.RATING, part="C1")
    assert find_limit(cut) == "the rating of C1" and "C1" in basis(cut) and find_limit(PROMISED) == ""
    assert "100 % of" not in basis(replace(PROMISED, content=0.99996))


@pytest.mark.parametrize("few", [{"n": 5}, {"n": 11}, {"guide": GuideShape.NOT_SHOWN}])
def test_builds_too_few_to_show_how_they_scatter_promise_only_what_any_builds_show(few):
    proposal = replace(PROMISED, **few)
    assert "too few to show" in basis(proposal) and not any(words in basis(proposal) for words in PROMISE)
    if proposal.n == 5:  # 5 p^4 - 4 p^5 = 0.1 (Wilks 1941): p = 0.4161
        assert "at least 41 % of good builds lie between their lowest and highest reading" in basis(proposal)


def test_nothing_is_promised_where_builds_do_not_scatter_normally():
    sentence = basis(replace(PROMISED, guide=GuideShape.NOT_NORMAL))
    assert "do not follow a normal distribution" in sentence and "12 builds" in sentence
    assert not any(words in sentence for words in (*PROMISE, "99.7"))


def test_every_reason_to_withhold_has_its_own_sentence():
    beyond = [Withheld(Reason.BEYOND, limit, "C1") for limit in Limit]
    others = [
        Withheld(Reason.ALIKE),
        Withheld(Reason.ACROSS_ZERO),
        Withheld(Reason.NOT_NORMAL, n=9),
        Withheld(Reason.OVER_RANGE, over=5, n=6),
    ]
    sentences = [why_withheld(one) for one in beyond + others]
    assert len(set(sentences)) == len(sentences) == len(Reason) + len(Limit) - 1
    assert "5 of 6" in sentences[-1] and any("C1" in sentence for sentence in sentences)


@pytest.mark.parametrize("verdict", list(Verdict))
def test_agreement_gives_all_three_figures(verdict):
    sentence = agreement_sentence(Agreement(verdict, 1.9, 1.37, 1.36, 8), "V")
    assert all(figure in sentence for figure in ("1.90 V", "1.37 V", "1.36 V", "8 builds"))


@pytest.mark.parametrize(("circuit", "builds"), [(None, 1.36), (1.37, None)])
def test_agreement_of_two_leaves_the_third_out(circuit, builds):
    apart = agreement_sentence(Agreement(Verdict.GUIDE_APART, 1.9, circuit, builds, 8), "V")
    agree = agreement_sentence(Agreement(Verdict.AGREE, 1.9, circuit, builds, 8), "V")
    assert apart != agree and "1.90 V" in apart and "()" not in apart


def test_correlations_name_their_circumstance_and_groups():
    grouped = dependence([1.0, 1.1, 2.0, 2.1], ["old", "old", "new", "new"])
    sentence = correlation_sentence(Circumstance(CircumstanceKind.MAKE, ("V1",)), grouped, "V")
    assert all(part in sentence for part in ("make of V1", "old (2 builds)", "new (2 builds)"))
    serial = Circumstance(CircumstanceKind.SERIAL)
    up, down = (correlation_sentence(serial, trend(values), "V") for values in (range(8), range(8, 0, -1)))
    assert up != down and "1.00 V" in up


def test_a_circumstance_is_its_code_and_back():
    for what in (Circumstance(CircumstanceKind.METER), Circumstance(CircumstanceKind.BATCH, ("R5", "R6"))):
        assert Circumstance.from_code(what.code) == what
    with pytest.raises(ValueError, match="horoscope"):
        Circumstance.from_code("horoscope:R5")


def test_every_advice_has_a_sentence():
    given = {"letter": "B", "stops": 2, "count": 1, "before": "1 V", "after": "2 V", "step": "Solder C9."}
    for code in AdviceCode:
        assert advice_sentence(Advice(code, "Because", ("FW-1",), given)).strip()


def test_many_builds_are_named_by_the_first_four():
    assert listed(("1", "2", "3", "4", "5", "6")) == "1, 2, 3, 4 and 2 more" and listed(("1",)) == "1"
    assert with_stop("Seen") == "Seen." and with_stop("Why?") == "Why?" and with_stop("  ") == ""
