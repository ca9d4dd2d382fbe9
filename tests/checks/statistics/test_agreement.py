"""Guide, circuit and builds: which of them agree."""

import pytest

from checks.band import Band
from checks.statistics.agreement import Verdict, compare_sources
from checks.statistics.summary import summarise

BAND = Band(1.7, 2.1, 1.9)


def circuit(value, reach=0.03):
    return {"value": value, "low": value - reach, "high": value + reach}


@pytest.mark.parametrize(
    ("figure", "builds", "verdict"),
    [
        (1.37, (1.35, 1.36, 1.37), Verdict.GUIDE_APART),  # the guide says 1.90
        (1.92, (1.88, 1.9, 1.93), Verdict.AGREE),
        (1.37, (1.9, 1.91, 1.88), Verdict.CIRCUIT_APART),
        (1.9, (1.35, 1.36, 1.37), Verdict.BUILDS_APART),
        (2.6, (1.35, 1.36, 1.37), Verdict.NONE_AGREE),
    ],
)
def test_the_one_that_is_apart_is_named(figure, builds, verdict):
    assert compare_sources(BAND, circuit(figure), summarise(builds)).verdict is verdict


def test_two_sources_agree_or_do_not():
    assert compare_sources(BAND, None, summarise((1.9, 1.9, 1.9))).verdict is Verdict.AGREE
    assert compare_sources(BAND, circuit(1.37), summarise((1.4,))).builds is None  # one build is no source
    assert compare_sources(BAND, circuit(1.37), summarise(())).verdict is not Verdict.AGREE


def test_a_circuit_that_allows_for_what_the_builds_read_agrees_with_them():
    wide = compare_sources(BAND, circuit(1.2, reach=0.4), summarise((1.5, 1.52, 1.48)))
    assert wide.verdict is Verdict.GUIDE_APART


def test_nothing_is_compared_without_a_figure_or_without_another_source():
    assert compare_sources(None, circuit(1.9), summarise((1.9,) * 3)) is None
    assert compare_sources(Band(1.7, 2.1), circuit(1.9), summarise((1.9,) * 3)) is None
    assert compare_sources(BAND, None, summarise((1.9, 1.9))) is None
    assert compare_sources(BAND, None, summarise((1.9,), over=8)) is None


def test_builds_in_two_groups_speak_for_nobody():
    """Their median lies where none of them reads."""
    builds = summarise((1.5, 1.52, 1.55, 2.25, 2.28, 2.3))
    assert compare_sources(BAND, None, builds).verdict is Verdict.AGREE  # what it would say
    assert compare_sources(BAND, None, builds, in_groups=True) is None
    left = compare_sources(BAND, circuit(1.37), builds, in_groups=True)
    assert left.builds is None and left.verdict is not Verdict.AGREE
