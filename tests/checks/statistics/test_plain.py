"""Findings in plain words."""

import pytest

from checks.statistics.findings import KINDS, Evidence, find
from checks.statistics.plain import CLAIMS, claim, otherwise, percent, reach, widths


@pytest.mark.parametrize(
    ("shift", "words"),
    [
        (0.61, "0.6 of the way from the guide's figure to the limit"),
        (-0.6, "0.6 of the way from the guide's figure to the limit"),
        (0.97, "as far from the guide's figure as the limit"),
        (-1.83, "1.8 times as far from the guide's figure as the limit"),
    ],
)
def test_a_shift_is_told_by_the_way_to_the_limit(shift, words):
    assert reach(shift) == words


def test_a_band_has_two_halves():
    assert (widths(1.8), widths(-0.5)) == ("+0.90", "−0.25")


def test_every_finding_has_a_claim_and_none_is_told_as_certain_that_is_not():
    assert set(CLAIMS) == {*KINDS, "not enough"}
    assert claim("figure off", 0.93) == "The guide's figure is probably wrong (93 %)"
    assert claim("figure off", 0.999) == "The guide's figure is almost surely wrong (over 99 %)"
    assert claim("not enough", 1.0) == "Too early to say" and percent(0.001) == "under 1 %"
    assert otherwise([("fits", 0.06), ("part batch", 0.02)]) == "the guide is right (6 %), two batches of a part (2 %)"
    with pytest.raises(KeyError):
        claim("bewitched")


@pytest.mark.parametrize(
    "evidence",
    [
        Evidence((0.6,) * 9),
        Evidence((1.8, 1.7, 1.9, 1.85)),
        Evidence((0.6,)),
        Evidence((0.6, -0.6, 0.3, 0.9)),
        Evidence((1.5, -1.6, 0.3, 0.9, -1.1, 1.2, -0.3, 0.9)),
    ],
)
def test_no_finding_speaks_of_half_bands(evidence):
    found = find(evidence)
    assert "half-band" not in found.words and found.claim and not any(kind in found.otherwise for kind in KINDS)


def test_without_a_figure_the_middle_of_the_band_is_named():
    words = find(Evidence((0.6,) * 9, figure="the middle of the guide's band")).words
    assert words == "9 builds lie together above the middle of the guide's band, 0.6 of the way from it to the limit."
