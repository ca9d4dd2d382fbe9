"""The worksheet: what to measure with boxes to write in, cautions on every powered page, a code that leads back."""

import io
import re
from itertools import pairwise

import pytest
from django.urls import reverse
from pypdf import PdfReader

from builds.accounts.cautions import CAUTIONS
from builds.guides.demo.files import demo_zip
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Check
from builds.reports.papers import qr_drawing
from builds.reports.worksheet.gather import worksheet
from builds.reports.worksheet.pdf import worksheet_pdf
from builds.reports.worksheet.socket_drawing import socket_drawing
from tests import factories
from tests.clearing import clear_though_frozen
from tests.references.qr_reader import read_code

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    revision = store_guide(read_guide(demo_zip("five-watt"), "guide.zip"), factories.make_designer())
    return factories.make_build(revision=revision)


def absolute(path):
    return "http://kits.example.org" + path


def texts(raw) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(raw)).pages]


@pytest.mark.lengthy
def test_every_check_that_a_meter_reads_is_on_the_sheet_with_its_probes(build):
    stages = worksheet(build, None, absolute)
    checks = [line.check.key for stage in stages for line in stage.lines if line.is_check]
    items = [item for stage in build.revision.stages.all() for item in stage.items if item.is_check]
    assert checks == [check.key for check in items if check.is_read]
    whole = " ".join(texts(worksheet_pdf(build, stages)))
    for stage in stages:
        for line in (line for line in stage.lines if line.is_check):
            assert " ".join(line.check.title.split()) in whole, line.check.key
            assert all(figure.figure.replace("\xa0", " ") in whole for figure in line.figures), line.check.key


@pytest.mark.lengthy
def test_every_page_of_a_powered_stage_repeats_its_cautions(build):
    powered = [s for s in worksheet(build, None, absolute) if s.stage.is_powered]
    assert powered
    for result in powered:
        pages = texts(worksheet_pdf(build, [result]))
        for text in pages:
            if "Meter shows" in text:  # a page with lines to fill
                assert "Lethal voltages." in text and "One hand." in text and "Local codes" in text
        assert "Made safe" in pages[-1] and "60 V DC" in pages[-1]


@pytest.mark.lengthy
def test_a_long_powered_stage_repeats_them_on_its_second_page():
    build = factories.make_build(revision=factories.make_revision(stages=2, checks=30, steps=1))
    pages = texts(worksheet_pdf(build, worksheet(build, ("stage-2",), absolute)))
    assert len(pages) > 1 and all("Lethal voltages." in text for text in pages if "Meter shows" in text)
    assert sum("Meter shows" in text for text in pages) > 1


@pytest.mark.lengthy
def test_a_box_offers_the_units_that_a_meter_may_show_there():
    """What stands on paper without its unit is read as another one later."""
    revision = factories.make_revision(stages=1, checks=4, steps=0, issued=False)
    figures = ({"at_least": "200 V"}, {"low": "285 V", "high": "335 V"}, {"at_most": "0.5 Ω"}, {"at_most": "60 °C"})
    measures = ("dc volts", "dc volts", "resistance", "temperature")
    for check, figure, measure in zip(factories.checks_of(revision=revision), figures, measures, strict=True):
        rest = dict.fromkeys(("expected", "band", "stop_above"), "")
        Check.objects.filter(pk=check.pk).update(measure=measure, **rest, **figure)
    build = factories.make_build(revision=revision)
    (stage,) = worksheet(build, None, absolute)
    boxes = [line.unit.replace("\xa0", " ") for line in stage.lines if line.is_check]
    assert boxes == ["☐ V ☐ mV", "V", "☐ Ω ☐ kΩ ☐ MΩ", "°C"]
    assert "☐ mV" in " ".join(texts(worksheet_pdf(build, [stage])))


def test_the_band_is_the_builders(client):
    """120 V mains on a 230 V guide with one tap: the band on the paper is the one a reading would be judged by."""
    from builds.bench.readings.context import build_context

    build = factories.make_build(revision=factories.make_revision(stages=1, checks=1), mains_volts=240)
    line = next(line for line in worksheet(build, None, absolute)[0].lines if line.is_check)
    band = build_context(build, line.check, None).band
    assert any(f"{band.low:.0f}" in figure.figure for figure in line.figures)


@pytest.mark.lengthy
def test_the_code_leads_to_the_stage(build):
    sheet = worksheet(build, ("supply",), absolute)[0]
    assert sheet.address == absolute(reverse("bench:stage", args=[build.pk, "supply"]))


@pytest.mark.lengthy
@pytest.mark.parametrize("who", ["builder", "designer"])
def test_the_page_and_the_pdf_are_for_the_builder_and_the_designer(who, build, client):
    person = build.builder if who == "builder" else build.revision.kit.designers.first()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("reports:worksheet", args=[build.pk]))
    ids = re.findall(r'\bid="([^"]+)"', page.content.decode())
    assert page.status_code == 200 and len(ids) == len(set(ids))
    assert client.get(reverse("reports:worksheet-pdf", args=[build.pk]), {"stage": "supply"})["Content-Type"] == (
        "application/pdf"
    )
    assert client.get(reverse("reports:worksheet-pdf", args=[build.pk]), {"stage": "none"}).status_code == 404


def test_a_probed_pin_carries_its_letter():
    drawing = socket_drawing("B9A", "3", "8", 60)
    letters = [shape.text for shape in drawing.contents if getattr(shape, "text", "") in ("R", "B")]
    assert sorted(letters) == ["B", "R"] and socket_drawing("no base", "1", "2", 60) is None


@pytest.mark.parametrize("stage", ["unpack", "a-stage-with-a-rather-long-key-of-forty-letters"])
def test_the_code_of_a_sheet_says_the_address_of_its_stage(stage):
    address = f"https://kits.example.org/builds/417/stages/{stage}/"
    drawing = qr_drawing(address, 100.0)
    cell = drawing.contents[0].width
    size = round(100 / cell) - 8
    dark = [[False] * size for _ in range(size)]
    for rect in drawing.contents:
        dark[round((100 - rect.y) / cell) - 5][round(rect.x / cell) - 4] = True
    assert read_code(dark) == address


@pytest.mark.lengthy
def test_a_made_safe_line_never_stands_on_a_page_without_cautions():
    for checks in range(1, 12):  # one of these lengths ends at the foot of a page
        build = factories.make_build(revision=factories.make_revision(stages=2, checks=checks, steps=1))
        pages = texts(worksheet_pdf(build, worksheet(build, ("stage-2",), absolute)))
        assert [text for text in pages if "Made safe" in text] == pages[-1:]
        assert "Lethal voltages." in pages[-1]


@pytest.mark.lengthy
def test_a_sheet_asks_for_a_made_safe_reading_before_hands_go_in_and_at_the_end(client, build):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    (stage,) = worksheet(build, ("first-power",), absolute)
    before = [line.step.key for safe, line in pairwise(stage.lines) if safe.is_safe]
    assert before == ["off-safe"] and stage.lines[-1].is_safe
    assert " ".join(texts(worksheet_pdf(build, [stage]))).count("Reach in only below") == 2
    page = client.get(reverse("reports:worksheet", args=[build.pk]) + "?stage=first-power").content.decode()
    assert page.count("Reach in only below 60 V DC") == 2


@pytest.fixture
def cleared(transactional_db, live_server):
    yield
    clear_though_frozen()


@pytest.mark.browser
@pytest.mark.lengthy
@pytest.mark.django_db(transaction=True)
def test_a_browser_prints_the_cautions_on_every_page_of_a_powered_stage(cleared, page, live_server, client, build):
    """All that the site has, on the paper of two continents (ISO 216 A4, ANSI A) with wide margins."""
    stage = build.revision.stages.get(key="valves-in")
    stage.cautions = list(CAUTIONS)
    stage.save(update_fields=["cautions"])
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    page.context.add_cookies([cookie])
    page.goto(f"{live_server.url}/reports/builds/{build.pk}/worksheet/?stage=valves-in")
    for paper, margin in (("A4", "10mm"), ("Letter", "20mm")):
        pages = texts(page.pdf(format=paper, margin=dict.fromkeys(("top", "right", "bottom", "left"), margin)))
        assert len(pages) > 1
        for text in pages:
            assert "Lethal voltages." in text and "One hand." in text and "Local codes" in text
