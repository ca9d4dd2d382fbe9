"""No page suggests what does not fit the cause that was found."""

import pytest
from django.urls import reverse

from builds.bench.models import ConfirmedFault, Snag
from builds.review.changes.decide import decline_change
from builds.review.changes.open_findings import open_findings
from builds.review.models import Cause, Triage
from tests import factories

pytestmark = pytest.mark.django_db
SCATTERED = (339, 258, 315, 276, 348, 264, 327, 291)  # about 300 V ± 10 %


@pytest.fixture
def revision():
    return factories.make_revision(stages=1, checks=1)


def read(revision, values):
    check = factories.checks_of(revision=revision)[0]
    for value in values:
        factories.add_readings(
            rows=[
                (
                    factories.make_build(revision=revision),
                    check,
                    [(float(value), "in band" if 270 <= value <= 330 else "out of band")],
                )
            ]
        )
    return check


def page(client, revision):
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    return client.get(reverse("review:findings", args=[revision.kit.key, revision.letter])).content.decode()


@pytest.mark.lengthy
def test_scatter_alone_offers_a_wider_band(client, revision):
    read(revision, SCATTERED)
    (row,) = open_findings(revision)
    assert row.finding.kind == "band too tight" and row.figures and row.advice.startswith("Widen the band") and row.asks
    assert '<button class="button" name="state" value="accepted">' in page(client, revision)


@pytest.mark.lengthy
@pytest.mark.parametrize("result", ["triage", "snag", "confirmed", "stop"])
def test_no_figures_are_offered_after_a_known_cause_or_a_danger(client, revision, result):
    check = read(revision, SCATTERED)
    build = revision.builds.order_by("serial").first()
    if result == "triage":
        Triage.objects.create(build=build, check_row=check, cause=Cause.WORKMANSHIP)
    elif result == "snag":
        Snag.objects.create(
            build=build, stage=check.stage, check_row=check, kind="reading", severity="danger", words="It glows."
        )
    elif result == "confirmed":
        ConfirmedFault.objects.create(build=build, fault="c9-reversed", words="C9 is backwards")
    else:
        factories.add_readings(
            rows=[(factories.make_build(revision=revision), check, [(410.0, "switch off"), (300.0, "in band")])]
        )
    (row,) = open_findings(revision)
    assert row.finding.kind == "band too tight" and not row.figures and "iden" not in row.advice
    assert '<button class="button quiet" name="state" value="accepted">' in page(client, revision)


@pytest.mark.lengthy
def test_a_single_build_is_named_and_nothing_is_pressed_for(client, revision):
    read(revision, (300, 301, 299, 302, 298, 300, 430))
    (row,) = open_findings(revision)
    astray = revision.builds.get(statuses__outcome="out of band").serial
    assert row.finding.kind == "single builds" and row.advice == f"Nothing to change in the guide; see {astray}."
    shown = page(client, revision)
    assert row.advice in shown and "Decide anyway" in shown and "button quiet" in shown
    decline_change(revision, "rejected", check=row.check, reason="A slip.", by=revision.kit.designers.first())
    assert "<strong>Rejected.</strong>" in page(client, revision)


def test_what_the_designer_planned_comes_first(revision):
    check = read(revision, SCATTERED)
    Triage.objects.create(build=revision.builds.first(), check_row=check, planned_change="Say: with a warm valve.")
    assert open_findings(revision)[0].advice == "Say: with a warm valve."
