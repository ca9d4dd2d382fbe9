"""The first page: whether the guide is fit, in a sentence, and what to mend first."""

import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from builds.bench.models import Snag
from builds.reports.executive import executive
from builds.reports.gather import gather
from builds.reports.summary_pdf import summary_pdf
from builds.review.changes.decide import decline_change
from tests import factories

pytestmark = pytest.mark.django_db


def told(revision):
    return executive(gather(revision))


@pytest.mark.lengthy
def test_danger_that_is_not_decided_on_keeps_the_guide_in(revision):
    first = revision.stages.first()
    snag = Snag.objects.create(
        build=revision.builds.first(),
        stage=first,
        step=first.steps.first(),
        kind="other",
        severity="danger",
        words="Smoke.",
    )
    assert told(revision).sentence == "Do not sell this kit yet: 1 finding with a stop or danger is not decided."
    decline_change(revision, "rejected", snag=snag, reason="A cigarette.", by=revision.kit.designers.first())
    assert told(revision).sentence.startswith("All findings with a stop or danger are decided")


@pytest.mark.lengthy
def test_headlines_carry_their_intervals(revision):
    by_label = {h.label: h for h in told(revision).headlines}
    assert by_label["Builds signed off"].figure == "0 of 8"
    assert by_label["First-pass yield"].figure == "62 %"  # 15 of 24
    assert by_label["First-pass yield"].small == "of 24 checks, likely 43 to 79 %"  # Wilson: 0.427 to 0.788
    assert by_label["Snags"].small == "1 without an answer"


@pytest.mark.lengthy
def test_the_executive_summary_names_what_is_not_known(revision):
    assert told(revision).unknown == "3 checks were read by fewer than 3 builds."


def test_a_programme_without_builds_says_so():
    made = told(factories.make_revision())
    assert made.sentence == "No build has begun yet." and made.yields is None


@pytest.mark.lengthy
def test_the_page_is_one_page_however_long_the_guide():
    made = factories.make_revision(stages=14, checks=2)
    build = factories.make_build(revision=made)
    factories.add_readings(rows=[(build, c, [(350.0, "out of band")]) for c in factories.checks_of(revision=made)])
    pages = PdfReader(io.BytesIO(summary_pdf(gather(made)))).pages
    assert "What to correct first" in pages[0].extract_text() and "14" in pages[0].extract_text()
    assert pages[1].extract_text().split("page 2")[1].strip().startswith("Findings")


@pytest.mark.lengthy
def test_the_page_shows_findings_a_few_at_a_time_and_keeps_their_numbers(revision, desk, monkeypatch):
    monkeypatch.setattr("builds.reports.views.summary.A_PAGE", 1)
    address = reverse("reports:summary", args=[revision.kit.key, revision.letter])
    first, second = desk.get(address).content.decode(), desk.get(address, {"page": 2}).content.decode()
    assert 'id="finding-1"' in first and 'id="finding-2"' not in first and "page=2#findings" in first
    assert 'id="finding-2"' in second and 'id="finding-1"' not in second and 'href="?page=1#finding-1"' in second
    assert 'id="finding-1"' in desk.get(address, {"page": "none such"}).content.decode()


def test_what_to_correct_first_never_leads_with_nothing_to_change():
    """Seven builds agree and one is far off: that build is to be looked at, and nothing in the guide."""
    made = factories.make_revision(stages=1, checks=2)
    single, shifted = factories.checks_of(revision=made)
    for n in range(8):
        build = factories.make_build(revision=made)
        wrong = n == 0
        rows = [
            (build, single, [(430.0 if wrong else 300.0 + n, "out of band" if wrong else "in band")]),
            (build, shifted, [(344.0 + n / 4, "out of band")]),
        ]
        factories.add_readings(rows=rows)
    gathered = gather(made)
    kinds = {f.title: f.meaning.kind for f in gathered.findings}
    assert kinds == {single.title: "single builds", shifted.title: "figure off"}
    assert [f.title for _n, f in executive(gathered).mend_first] == [shifted.title]
    assert executive(gathered).sentence == "No stop or danger; 2 findings are not decided."


def test_of_two_findings_as_bad_the_surer_one_comes_first():
    made = factories.make_revision(stages=1, checks=2)
    unsure, sure = factories.checks_of(revision=made)
    spread = (268.0, 345.0, 280.0, 300.0, 255.0, 310.0, 292.0, 305.0)
    for n, value in enumerate(spread):
        build = factories.make_build(revision=made)
        group = 345.0 + n / 2 if n in (0, 1, 4) else 300.0 + n / 2
        rows = [
            (build, c, [(v, "in band" if 270 <= v <= 330 else "out of band")])
            for c, v in ((unsure, value), (sure, group))
        ]
        factories.add_readings(rows=rows)
    first, second = gather(made).findings
    assert first.missed == second.missed and first.meaning.probability > second.meaning.probability
    assert (first.title, second.title) == (sure.title, unsure.title)  # in the guide it is the other way round


@pytest.mark.lengthy
def test_a_rejected_finding_is_no_longer_among_what_to_correct(revision_with_a_snag):
    snag = revision_with_a_snag
    revision = snag.build.revision
    assert [f.title for _n, f in executive(gather(revision)).mend_first] == ["Step 1"]
    decline_change(revision, "rejected", snag=snag, reason="It says so.", by=revision.kit.designers.first())
    assert executive(gather(revision)).mend_first == ()


@pytest.fixture
def revision_with_a_snag():
    made = factories.make_revision(stages=1, checks=1)
    step = made.stages.first().steps.first()
    build = factories.make_build(revision=made)
    return Snag.objects.create(build=build, stage=step.stage, step=step, kind="words", words="Which end?")
