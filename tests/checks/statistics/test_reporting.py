"""What of the probabilities of a guide's checks is reported, by posteriors made by hand.

The expected share of false ones among what is reported, surest first, is the running mean of the probabilities that
each fits (Newton and others, Biostatistics 5:155, 2004); worked out by hand beside each case.
"""

import pytest

from checks.statistics import findings
from checks.statistics.evidence import Reference, WeighedEvidence
from checks.statistics.findings import Kind, compute_findings
from checks.statistics.guide_model import ROWS, Posterior


def posterior(labels=None, **rows):
    """The rows given, the rest on nothing; "label" and "with tails" are rows too."""
    given = {name.replace("_", " "): p for name, p in rows.items()}
    assert set(given) <= set(ROWS) and sum(given.values()) == pytest.approx(1.0)
    return Posterior({row: given.get(row, 0.0) for row in ROWS}, labels or {})


def weighed(scatter=True, likelihoods=True, n=8):
    counts = {"misses": 3, "over": 2, "came_right": 1, "snags": 4}
    return WeighedEvidence(
        n, **counts, one_sided=True, reference=Reference.FIGURE, shift=0.4, spread=0.2, shows_scatter=scatter,
        likelihoods=object() if likelihoods else None, explained=1,
    )  # fmt: skip


@pytest.fixture
def kinds(monkeypatch):
    """The kinds reported of checks with these posteriors."""

    def ask(*posteriors, evidence=None):
        asked = evidence or [weighed() for _ in posteriors]
        monkeypatch.setattr(findings.guide_model, "posteriors", lambda tables: posteriors)
        return compute_findings(asked)

    return ask


def test_half_is_enough_and_less_is_not(kinds):
    sure, just, short = (posterior(figure_off=p, fits=0.01, band_too_tight=0.99 - p) for p in (0.9, 0.5, 0.49))
    assert [f.kind for f in kinds(sure, just, short)] == [Kind.FIGURE_OFF, Kind.FIGURE_OFF, Kind.TOO_TIGHT]
    split = posterior(figure_off=0.45, fits=0.1, band_too_tight=0.45)
    assert kinds(split)[0].kind == Kind.NOT_ENOUGH


def test_what_fits_is_reported_without_a_limit_on_false_ones(kinds):
    assert kinds(posterior(fits=0.5, with_tails=0.1, figure_off=0.4))[0].kind == Kind.FITS
    assert kinds(posterior(fits=0.3, with_tails=0.19, figure_off=0.51))[0].kind == Kind.NOT_ENOUGH


def test_a_fit_with_long_tails_is_a_fit(kinds):
    found = kinds(posterior(with_tails=0.7, figure_off=0.3))[0]
    assert (found.kind, found.probability) == (Kind.FITS, pytest.approx(0.7))


@pytest.mark.parametrize(("doubts", "reported"), [
    ([0.05], 1),  # the rate itself is held
    ([0.051], 0),
    ([0.0, 0.1], 2),  # mean 0.05
    ([0.0, 0.102], 1),  # mean 0.051: the surer one stays
    ([0.0, 0.0, 0.0, 0.0, 0.2], 5),  # mean 0.04, and no more than the doubt that any may carry
    ([0.0, 0.0, 0.0, 0.0, 0.0, 0.21], 5),  # mean 0.035, but one fits too well by itself
    ([0.06, 0.06], 0),
])  # fmt: skip
def test_of_what_is_reported_one_in_twenty_may_be_false(kinds, doubts, reported):
    found = kinds(*(posterior(fits=doubt, figure_off=1 - doubt) for doubt in doubts))
    assert [f.kind for f in found] == [Kind.FIGURE_OFF] * reported + [Kind.NOT_ENOUGH] * (len(doubts) - reported)


def test_the_surest_comes_first_wherever_it_stands_in_the_guide(kinds):
    found = kinds(posterior(fits=0.09, figure_off=0.91), posterior(fits=0.0, figure_off=1.0))
    assert [f.kind for f in found] == [Kind.FIGURE_OFF] * 2
    found = kinds(posterior(fits=0.12, figure_off=0.88), posterior(fits=0.0, figure_off=1.0))
    assert [f.kind for f in found] == [Kind.NOT_ENOUGH, Kind.FIGURE_OFF]


def test_several_wrong_builds_are_a_hypothesis_however_likely(kinds):
    found = kinds(posterior(several_builds=0.99, fits=0.01))[0]
    assert (found.kind, found.each[Kind.SEVERAL]) == (Kind.NOT_ENOUGH, 0.99)


def test_a_band_is_too_tight_only_by_a_scatter_that_the_builds_show(kinds):
    tight = posterior(band_too_tight=0.99, fits=0.01)
    shown, hidden = kinds(tight, tight, evidence=[weighed(scatter=True), weighed(scatter=False)])
    assert (shown.kind, hidden.kind) == (Kind.TOO_TIGHT, Kind.NOT_ENOUGH)
    off = posterior(figure_off=0.99, fits=0.01)
    assert kinds(off, evidence=[weighed(scatter=False)])[0].kind == Kind.FIGURE_OFF


def test_a_batch_with_a_label_and_one_without_are_one(kinds):
    labels = {"batch:R1": 0.2, "make:V1": 0.8}
    named = kinds(posterior(labels, label=0.4, part_batch=0.3, fits=0.0, figure_off=0.3))[0]
    assert (named.kind, named.probability, named.label) == (Kind.BATCH, pytest.approx(0.7), "make:V1")
    unnamed = kinds(posterior(labels, label=0.3, part_batch=0.4, fits=0.0, figure_off=0.3))[0]
    assert (unnamed.kind, unnamed.label) == (Kind.BATCH, "")
    even = kinds(posterior(labels, label=0.35, part_batch=0.35, fits=0.0, figure_off=0.3))[0]
    assert even.label == "make:V1"
    assert kinds(posterior(labels, label=0.3, figure_off=0.7))[0].label == ""


def test_too_few_builds_say_nothing_and_keep_their_counts(kinds):
    few, enough = kinds(posterior(figure_off=1.0), evidence=[weighed(likelihoods=False, n=2), weighed(n=9)])
    assert (few.kind, few.each, few.probability, few.n) == (Kind.NOT_ENOUGH, {}, 1.0, 2)
    assert (enough.kind, enough.n, enough.misses, enough.over, enough.came_right) == (Kind.FIGURE_OFF, 9, 3, 2, 1)
    assert (enough.snags, enough.one_sided, enough.shift, enough.spread, enough.explained) == (4, True, 0.4, 0.2, 1)


def test_what_else_it_could_be_is_told_from_one_per_cent_on(kinds):
    rows = {"figure_off": 0.95, "part_batch": 0.02, "single_builds": 0.01, "step_unclear": 0.009, "fits": 0.011}
    found = kinds(posterior(**rows))[0]
    assert [kind for kind, _p in found.others] == [Kind.BATCH, Kind.FITS, Kind.SINGLES]
    assert [kind for kind, _p in found.ahead] == [Kind.FIGURE_OFF, Kind.BATCH]


def test_where_nothing_is_reported_the_likeliest_is_told_with_its_probability(kinds):
    found = kinds(posterior(figure_off=0.45, band_too_tight=0.4, fits=0.15))[0]
    assert (found.kind, found.probability) == (Kind.NOT_ENOUGH, 0.45)
