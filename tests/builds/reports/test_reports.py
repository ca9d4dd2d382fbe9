"""The fault summary read back with other people's tools."""
import csv
import io
import json
from pathlib import Path

import jsonschema
import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from builds.bench.models import Reading, Snag
from builds.bench.readings import take_reading
from builds.reports.gather import gather
from builds.reports.papers import build_record, packing_slip
from builds.reports.summary_pdf import summary_pdf
from builds.reports.tabular import csv_lines, harmless, summary_json
from builds.review.models import Cause, Triage
from tests import factories

pytestmark = pytest.mark.django_db
SCHEMA = json.loads((Path(__file__).parents[3] / "builds/reports/schema/fault-summary-1.schema.json").read_text())


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


@pytest.fixture
def revision():
    """Eight builds: check 1.1 reads high for all, 1.2 for one only; one snag that is a spreadsheet's nightmare."""
    made = factories.make_revision(stages=2, checks=3)
    first, second, third = made.stages.first().checks.all()
    for n in range(8):
        build = factories.make_build(revision=made, builder=factories.make_builder())
        take_reading(build, first, f"{345 + n % 3}", by=build.builder)
        take_reading(build, second, "240" if n == 5 else f"{300 + n % 3}", by=build.builder)
        take_reading(build, third, "300", by=build.builder)
    Snag.objects.create(build=build, stage=made.stages.first(), check_row=first, kind="reading",
                        words='=HYPERLINK("x") & <b>4.7 kΩ ±5 % µ</b>', by=build.builder)
    return made


def test_findings_are_told_apart(revision):
    first, second = gather(revision).findings[:2]
    assert first.meaning.kind == "figure off" and "to 346 V" in first.suggestion
    assert second.meaning.kind == "single builds"
    assert (first.missed.successes, first.missed.n) == (8, 8)


def test_the_designers_planned_change_wins(revision):
    check = revision.stages.first().checks.first()
    Triage.objects.create(build=revision.builds.first(), check_row=check, cause=Cause.FIGURE, planned_change="Print 346 V.")
    finding = gather(revision).findings[0]
    assert finding.suggestion == "Print 346 V." and finding.causes == ("guide figure",)


def test_the_pdf_says_it_in_words_and_signs(revision):
    text = text_of(summary_pdf(gather(revision)))
    for said in ("8 builds made", "Check 1.1", "missed by 8 of 8", "346 V", '=HYPERLINK("x")', "<b>4.7 kΩ ±5 % µ</b>", "Appendix"):
        assert said in text


def test_the_json_keeps_to_its_schema(revision):
    data = json.loads(json.dumps(summary_json(gather(revision))))
    jsonschema.validate(data, SCHEMA, jsonschema.Draft202012Validator)
    assert data["findings"][0]["missed"]["count"] == 8
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data | {"format": "other"}, SCHEMA)


def test_the_csv_has_every_reading(revision):
    lines = list(csv.DictReader(io.StringIO("".join(csv_lines(revision)), newline="")))
    assert len(lines) == Reading.objects.count() == 24
    assert {line["outcome"] for line in lines} == {"in band", "out of band"}
    assert float(lines[0]["value"]) == 345.0


def test_the_csv_ends_its_lines_as_the_standard_says(revision):
    assert all(line.endswith("\r\n") for line in csv_lines(revision))


@pytest.mark.parametrize(("text", "wanted"), [("=1+1", "'=1+1"), ("+cmd", "'+cmd"), ("@x", "'@x"), ("-7.3", "-7.3"),
                                              ("-2+3", "'-2+3"), ("\tx", "'\tx"), ("285 V", "285 V")])
def test_formulas_are_defused(text, wanted):
    assert harmless(text) == wanted


@given(st.text(max_size=20))
def test_no_text_stays_a_formula(text):
    safe = harmless(text)
    if safe.startswith(("=", "+", "-", "@")):
        float(safe)


def test_an_empty_programme_still_has_its_summary(client):
    revision = factories.make_revision()
    assert "No check was missed" in text_of(summary_pdf(gather(revision)))
    jsonschema.validate(json.loads(json.dumps(summary_json(gather(revision)))), SCHEMA)


def test_the_packing_slip_shows_the_link_and_the_cautions(revision):
    text = text_of(packing_slip(revision.builds.first(), "https://example.org/invitation/abc/"))
    assert "https://example.org/invitation/abc/" in text and "Lethal voltages" in text


def test_the_packing_slip_prints_our_own_links_only(client, revision):
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("reports:packing-slip", args=[revision.builds.first().pk])
    assert client.post(address, {"link": "https://elsewhere.example/"}).status_code == 422
    assert client.post(address, {"link": "http://testserver/invitation/abc/"})["Content-Type"] == "application/pdf"


def test_the_build_record_lists_every_reading(revision):
    text = text_of(build_record(revision.builds.first()))
    assert "Check 1.2" in text and "345" in text


def test_gathering_takes_the_same_queries_for_more_builds(django_assert_num_queries):
    for builds in (2, 12):
        made = factories.make_revision(stages=1, checks=2)
        for _ in range(builds):
            factories.add_reading(build=factories.make_build(revision=made), check=made.stages.first().checks.first(),
                                  outcome="out of band", value=350)
        with django_assert_num_queries(11):
            gather(made)
