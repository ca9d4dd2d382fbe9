"""The guide on paper and as one file: it says what the rows say, and the bench shows."""

import io
import re

import pytest
from django.urls import reverse
from pypdf import PdfReader

from builds.accounts.models import Person
from builds.bench.models import Erratum
from builds.guides.demo.files import demo_zip
from builds.guides.figures import band_for
from builds.guides.guide_file import read_guide, store_guide
from builds.reports.guide.drawings import build_scale, stopped_ranges
from builds.reports.guide.html import guide_html
from builds.reports.guide.pdf import guide_pdf
from builds.reports.pdf_base import table
from builds.ui.formatting import format_figure
from checks.band import Band
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision():
    designer = Person.objects.create_person("The designer", factories.PASSWORD, may_design=True)
    return store_guide(read_guide(demo_zip()), designer)


@pytest.fixture
def pdf(revision):
    return PdfReader(io.BytesIO(guide_pdf(revision)))


def words_of(pdf) -> str:
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


@pytest.mark.lengthy
def test_every_stage_has_its_bookmark_and_its_place_in_the_contents(revision, pdf):
    titles = [f"{n}. {stage.title}" for n, stage in enumerate(revision.stages.all(), 1)]
    marks = [mark.title for mark in pdf.outline if not isinstance(mark, list)]
    assert [title for title in marks if title in titles] == titles
    contents = words_of(pdf).split("Safety", 1)[0] + pdf.pages[1].extract_text()
    assert all(title in " ".join(contents.split()) for title in titles)


@pytest.mark.lengthy
def test_the_paper_gives_the_bands_and_stops_that_the_bench_judges_by(revision, pdf):
    text = words_of(pdf)
    for stage in revision.stages.all():
        for check in stage.checks.all():
            band = band_for(check)
            assert check.title in text
            if band and band.stop_above is not None:
                assert f"> {format_figure(band.stop_above, check.unit)}" in text


@pytest.mark.lengthy
def test_each_band_is_drawn_and_a_moment_in_a_video_can_be_opened_from_paper(revision):
    stage = revision.stages.last()
    stage.video = {"address": "https://video.example/kit?t={seconds}", "at": "0:12:30"}
    stage.save()
    page = "".join(guide_html(revision))
    checks = [check for stage in revision.stages.all() for check in stage.checks.all()]
    drawn = [band for check in checks if (band := band_for(check)) and not band.is_open]
    assert page.count('<svg class="scale"') == len(drawn) > 20
    assert page.count('class="qr"') == 1 and "t=750" in page  # 12 min 30 s


def test_a_scale_shows_where_to_switch_off():
    scale = build_scale(Band(270.0, 300.0, 285.0, stop_above=330.0))
    ((start, end),) = stopped_ranges(scale)
    assert scale.high_x < start < end
    assert build_scale(Band(1e6, None, is_open=True)) is None and build_scale(None) is None


@pytest.mark.lengthy
def test_every_part_and_step_is_there_with_its_pictures(revision, pdf):
    text = words_of(pdf)
    for part in revision.parts.all():
        assert part.ref in text
    shown = {step.picture for stage in revision.stages.all() for step in stage.steps.all()} - {""}
    assert sum(len(page.images) for page in pdf.pages) >= len(shown) == 3


@pytest.mark.lengthy
def test_cautions_come_before_the_first_stage(revision, pdf):
    text = words_of(pdf)
    assert text.index("The supply in this kit can kill") < text.index("Open bags 1 to 6")


@pytest.mark.lengthy
def test_a_draft_says_that_it_is_none_to_build_from(revision):
    assert "Do not build from it" in words_of(PdfReader(io.BytesIO(guide_pdf(revision))))


@pytest.mark.lengthy
def test_errata_are_printed_with_the_revision():
    issued = factories.make_revision()
    Erratum.objects.create(revision=issued, stage=issued.stages.first(), words="R8 is 1.5 kΩ & no other <b>value</b>.")
    assert "R8 is 1.5 kΩ & no other <b>value</b>." in words_of(PdfReader(io.BytesIO(guide_pdf(issued))))


@pytest.mark.lengthy
def test_the_one_file_needs_nothing_from_anywhere(revision):
    html = "".join(guide_html(revision))
    assert not re.search(r"(?:src|href)=\"(?!data:|#)", html)
    assert "<script" not in html and "http-equiv" not in html
    assert html.count("data:image/jpeg;base64,") >= 5


@pytest.mark.lengthy
def test_words_of_a_guide_are_no_markup_in_the_file(revision):
    stage = revision.stages.first()
    stage.title = "<script>alert(1)</script>"
    stage.save()
    revision.parts.filter(ref="R1").update(note="<img src=x>")
    html = "".join(guide_html(revision))
    assert "<script>" not in html and "<img src=x>" not in html


@pytest.mark.lengthy
def test_a_stranger_gets_neither_form_of_the_printed_guide(client, revision):
    client.force_login(factories.make_designer())
    for name in ("guide-pdf", "guide-html"):
        assert client.get(reverse(f"reports:{name}", args=[revision.kit.key, revision.letter])).status_code == 404


@pytest.mark.lengthy
def test_the_schematic_has_its_page_and_bookmark_with_the_volts_at_its_points(revision, pdf):
    mark = next(row for row in pdf.outline if not isinstance(row, list) and row.title == "Schematic and points")
    words = pdf.pages[pdf.get_destination_page_number(mark)].extract_text()
    for ref in ("V1a", "V2", "T1", "T2", "RV2"):
        assert ref in words
    assert re.search(r"\d+: \d+ V", words)
    assert 'class="sch-sheet"' in "".join(guide_html(revision))


@pytest.mark.lengthy
def test_a_guide_without_wiring_has_no_schematic_and_is_printed_all_the_same():
    bare = factories.make_revision()
    assert 'class="sch-sheet"' not in "".join(guide_html(bare))
    assert len(PdfReader(io.BytesIO(guide_pdf(bare))).pages) > 1


@pytest.mark.parametrize("height", range(60, 200, 7))
def test_no_row_of_a_table_is_left_alone_on_a_page(height):
    rows = [["No.", "Point"], *([str(n), "the tip tag of the loudspeaker jack"] for n in range(1, 9))]
    made = table(rows, (20, 60))
    made.wrapOn(None, 400, 1000)
    pieces = made.split(400, height)
    counts = [len(piece._cellvalues) - 1 for piece in pieces]  # without the head, which is said again
    assert sum(counts) in (0, 8) and 1 not in counts


@pytest.mark.parametrize("words", [20, 58, 62, 160, 220])
def test_rows_too_high_for_one_page_together_are_split_all_the_same(words):
    rows = [["No.", "Point"], ["1", "word " * words], ["2", "word " * words]]
    made = table(rows, (20, 40))
    _wide, high = made.wrapOn(None, 400, 5000)
    assert high < 700 or len(made.split(400, 700)) == 2
