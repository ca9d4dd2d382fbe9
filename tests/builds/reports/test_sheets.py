"""A page for every stage: the guide's words with what builders met beside them."""

import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from builds.reports.gather import gather
from builds.reports.sheets import stage_sheet, stage_sheets

pytestmark = pytest.mark.django_db


def at(revision, stage, name="stage"):
    return reverse(f"reports:{name}", args=[revision.kit.key, revision.letter, stage])


@pytest.mark.lengthy
def test_a_sheet_follows_the_guide_and_numbers_the_findings(revision):
    made = stage_sheet(gather(revision), "stage-1")
    assert [e.title for e in made.entries] == ["Step 1", "Step 2", "Check 1.1", "Check 1.2", "Check 1.3"]
    assert [[n for n, _f in e.findings] for e in made.entries] == [[], [], [1], [2], []]
    assert made.entries[2].figure == "300 V, band 270 to 330 V"
    assert made.row.first_pass.n == 24


@pytest.mark.lengthy
def test_every_stage_has_one_and_they_cost_two_queries_more(revision, django_assert_num_queries):
    gathered = gather(revision)
    with django_assert_num_queries(3):
        assert [s.stage.key for s in stage_sheets(gathered)] == ["stage-1", "stage-2"]


@pytest.mark.lengthy
def test_the_page_shows_words_and_edits(desk, revision):
    body = desk.get(at(revision, "stage-1")).content.decode()
    assert "Do thing 1." in body and "Finding 1" in body and "<del>300 V</del>" in body
    assert "No check of this stage had a reading out of band" in desk.get(at(revision, "stage-2")).content.decode()


@pytest.mark.lengthy
def test_a_stages_pdf_shows_what_its_page_shows(desk, revision):
    answer = desk.get(at(revision, "stage-1", "stage-pdf"))
    assert answer["Content-Type"] == "application/pdf"
    text = PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    assert "Do thing 1." in text and "Check 1.1" in text and "expected value, suggested by the builds" in text


@pytest.mark.lengthy
def test_a_stage_that_is_not_there_is_not_found(desk, revision):
    assert desk.get(at(revision, "stage-9")).status_code == 404
    assert desk.get(at(revision, "stage-9", "stage-pdf")).status_code == 404
