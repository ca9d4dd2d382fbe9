"""From typed readings to what they mean and what is proposed, through the bench."""

import pytest

from builds.bench.readings.taking import take_reading
from builds.review import findings_cache
from builds.review.queries import list_checks
from checks.statistics.tolerance import Limit, Proposal, Reason, Withheld
from tests import factories

pytestmark = pytest.mark.django_db


def check_read(*typed, **figures):
    """A check of 300 V ± 10 % (stop above 400 V unless `figures` say otherwise) read by as many builds."""
    revision = factories.make_revision(stages=1, checks=1, issued=False)
    revision.stages.get().checks.update(**figures)
    revision.state = "issued"
    (check,) = list_checks(revision)
    for one in typed:
        build = factories.make_build(revision=revision)
        take_reading(build, check, one, by=build.builder, mains_volts=230.0)
    return check


def found(check):
    meaning = findings_cache.meanings([check])[check.pk]
    return meaning.finding, meaning.proposal


@pytest.mark.parametrize("stop", ["", "400 V"])
def test_builds_that_are_all_over_range_have_a_figure_that_is_off_and_no_figure_to_propose(stop):
    meaning, proposal = found(check_read(*["OL"] * 6, stop_above=stop))
    assert meaning.kind == "figure off" and meaning.shift == 1.0
    assert not proposal and (proposal.reason, proposal.over, proposal.n) == (Reason.OVER_RANGE, 6, 6)


def test_over_range_where_that_is_wanted_is_right():
    meaning, _ = found(check_read(*["OL"] * 6, measure="isolation", expected="", band="", at_least="1M", stop_above=""))
    assert meaning.kind == "fits"


def test_one_build_far_off_is_that_build_and_is_not_in_the_proposal():
    meaning, proposal = found(check_read(*["4.7"] * 5, "300", expected="4.7 V", stop_above=""))
    assert meaning.kind == "single builds"
    assert 4 < proposal.low < proposal.high < 5.5


@pytest.mark.lengthy
def test_builds_past_a_stop_limit_propose_nothing_and_the_pages_say_why(client):
    check = check_read("701", "700", "702", "701", "699", stop_above="400 V")
    meaning, proposal = found(check)
    assert meaning.kind == "figure off" and isinstance(proposal, Withheld)
    client.force_login(check.stage.revision.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    place = f"/review/{check.stage.revision.kit.key}/A/"
    for page in (
        f"{place}checks/{check.pk}/",
        f"{place}findings/",
        f"/reports/{check.stage.revision.kit.key}/A/fault-summary.json",
    ):
        answer = client.get(page)
        assert answer.status_code == 200, page
        if "json" not in page:
            assert "the stop limit above" in answer.content.decode(), page


def test_why_nothing_is_proposed_is_kept_with_the_finding():
    check = check_read("701", "700", "702", "701", "699")
    check.stage.revision.state = "issued"
    findings_cache.meanings([check])
    kept = findings_cache.meanings([check])[check.pk].proposal
    assert (kept.reason, kept.limit) == (Reason.BEYOND, Limit.STOP_ABOVE)


def test_a_proposal_from_builds_read_alike_is_as_wide_as_their_meters_make_it():
    _, proposal = found(check_read(*["345"] * 5, stop_above="500 V"))
    assert isinstance(proposal, Proposal) and proposal.high - proposal.low > 2


@pytest.mark.lengthy
def test_a_band_without_a_figure_is_right_wherever_in_it_the_builds_lie():
    inside = {"measure": "resistance", "expected": "", "band": "", "low": "6 Ω", "high": "33 Ω", "stop_above": ""}
    meaning, _ = found(check_read("28.0", "28.3", "27.9", "28.2", "28.1", "28.0", **inside))
    assert meaning.kind == "fits"
    meaning, _ = found(check_read("38.0", "38.3", "37.9", "38.2", "38.1", "38.0", **inside))
    assert meaning.kind == "figure off" and meaning.reference == "middle"
    meaning, _ = found(check_read("28.0", "28.3", "27.9", "28.2", "28.1", "60.0", **inside))
    assert meaning.kind == "single builds"
