"""The fault summary read back with other people's tools."""

import csv
import io
import json
import re
from datetime import timedelta
from pathlib import Path

import jsonschema
import pytest
from django.urls import reverse
from django.utils import timezone
from hypothesis import example, given
from hypothesis import strategies as st
from pypdf import PdfReader

from builds.accounts.links import invitation_link
from builds.bench.gates.gating import concede
from builds.bench.models import MadeSafe, PowerOn, Reading, Snag
from builds.reports.as_json import json_lines
from builds.reports.edits import Edit
from builds.reports.gather import gather
from builds.reports.marked import mark_up
from builds.reports.papers import build_record, packing_slip
from builds.reports.summary_pdf import summary_pdf
from builds.reports.tabular import csv_lines, defuse
from builds.review.models import Cause, Triage
from tests import factories

pytestmark = pytest.mark.django_db
SCHEMA = json.loads((Path(__file__).parents[3] / "builds/reports/schema/fault-summary-1.schema.json").read_text())


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


@pytest.mark.lengthy
def test_findings_are_told_apart(revision):
    first, second = gather(revision).findings[:2]
    assert first.meaning.kind == "figure off" and "to 346 V" in first.suggestion
    assert second.meaning.kind == "single builds"
    assert (first.missed.successes, first.missed.n) == (8, 8)


@pytest.mark.lengthy
def test_the_designers_planned_change_wins(revision):
    check = revision.stages.first().checks.first()
    Triage.objects.create(
        build=revision.builds.first(), check_row=check, cause=Cause.FIGURE, planned_change="Print 346 V."
    )
    finding = gather(revision).findings[0]
    assert finding.suggestion == "Print 346 V." and finding.causes == ("guide figure",)


@pytest.mark.lengthy
def test_the_pdf_says_it_in_words_and_signs(revision):
    text = text_of(summary_pdf(gather(revision)))
    for said in (
        "8 builds made",
        "Check 1.1",
        "not in band at first in 8 of 8",
        "346 V",
        '=HYPERLINK("x")',
        "<b>4.7 kΩ ±5 % µ</b>",
        "Appendix",
    ):
        assert said in text


@pytest.mark.lengthy
def test_the_pdf_says_it_in_plain_words(revision):
    """No word that needs a course in statistics, but in the one paragraph that says how it was worked out."""
    plain, _, method = text_of(summary_pdf(gather(revision))).rpartition("Method")
    plain = " ".join(plain.split())
    assert re.search(
        r"The builds (probably|almost certainly) differ from the guide and its circuit \((\d+|over 99) %\)", plain
    )
    assert "not in band at first in 8 of 8 builds (likely 68 to 100 %)" in plain  # Wilson's interval: 0.676 to 1
    assert "Guide: 300 V. Median of 8 builds: 346 V (+0.77 band widths)." in plain
    for learned in ("half-band", "obust spread", "false discovery", "Newcombe", "absolute deviation"):
        assert learned not in plain
    assert "Newcombe" in method and "absolute deviation" in method


@pytest.mark.lengthy
def test_quotation_marks_are_never_doubled(revision, desk):
    Snag.objects.create(
        build=revision.builds.first(), stage=revision.stages.first(), kind="words", words="“C9 +”: which end?"
    )
    page = desk.get(reverse("reports:summary", args=[revision.kit.key, revision.letter])).content.decode()
    assert "“‘C9 +’: which end?”" in page and "““" not in page
    assert "“‘C9 +’: which end?”" in text_of(summary_pdf(gather(revision)))


def test_the_guides_marks_are_never_shown_raw(revision):
    assert (
        mark_up("To **pin 3** & *made safe*.\n\n- one\n- 2 < 3")
        == "To <b>pin 3</b> &amp; <i>made safe</i>.<br/>• one<br/>• 2 &lt; 3"
    )
    assert mark_up("| pin | V |\n| --- | --- |\n| 3 | 8.2 |") == "pin: V<br/>3: 8.2" and mark_up("") == ""
    edit = Edit("Stage 1: step 1", "words of the step", "to **pin 3** of V2", "to **pin 4** of V2", "accepted")
    assert [(p.kind, p.text) for p in edit.pieces] == [
        ("same", "to pin "),
        ("out", "3"),
        ("in", "4"),
        ("same", " of V2"),
    ]
    only_marks = Edit("Stage 1: step 1", "words of the step", "to pin 3", "to **pin 3**", "accepted")
    assert any(p.kind == "in" for p in only_marks.pieces)


@pytest.mark.lengthy
def test_the_json_keeps_to_its_schema(revision):
    data = json.loads("".join(json_lines(gather(revision))))
    jsonschema.validate(data, SCHEMA, jsonschema.Draft202012Validator)
    assert data["findings"][0]["missed"]["count"] == 8
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data | {"format": "other"}, SCHEMA)


@pytest.mark.lengthy
def test_made_safe_readings_stand_in_the_json_and_on_the_build_record(revision):
    """Those that were still too high among them: they say what the builder did before hands went in."""
    build = revision.builds.first()
    for typed, volts in (("72", 72.0), ("2.5", 2.5)):
        MadeSafe.objects.create(build=build, typed=typed, volts=volts, is_safe=volts < 60)
    data = json.loads("".join(json_lines(gather(revision))))
    jsonschema.validate(data, SCHEMA, jsonschema.Draft202012Validator)
    rows = data["made_safe"]
    assert [(m["build"], m["volts"], m["safe"]) for m in rows] == [
        (build.serial, 72.0, False),
        (build.serial, 2.5, True),
    ]
    text = text_of(build_record(build))
    assert "72 V" in text and "2.5 V" in text


@pytest.mark.lengthy
def test_power_on_record_stands_in_the_json_and_on_the_build_record(revision):
    build, stage = revision.builds.first(), revision.stages.get(key="stage-2")
    for why in ("cautions", "again"):
        PowerOn.objects.create(build=build, stage=stage, why=why)
    data = json.loads("".join(json_lines(gather(revision))))
    jsonschema.validate(data, SCHEMA, jsonschema.Draft202012Validator)
    assert [(p["build"], p["stage"], p["why"]) for p in data["power_on"]] == [
        (build.serial, "Stage 2", "cautions"),
        (build.serial, "Stage 2", "again"),
    ]
    assert str(PowerOn.Why.AGAIN.label) in text_of(build_record(build))


@pytest.mark.lengthy
def test_the_pieces_of_the_json_are_the_whole(revision):
    pieces = list(json_lines(gather(revision)))
    assert len(pieces) == 1 + 9 + 1
    assert len(json.loads("".join(pieces))["deviations"]) == 9


def test_what_was_published_before_still_validates(revision):
    """The schema grows by additions only: a document of the first day is still one."""
    old = {
        "format": "fault-summary-1",
        "kit": "k",
        "name": "K",
        "revision": "A",
        "made_at": "2026-01-01T00:00:00+00:00",
        "builds": {"made": 1, "begun": 1, "signed_off": 0},
        "mains": {},
        "meters": {},
        "stages": [],
        "deviations": [],
        "findings": [
            {
                "rank": 1,
                "harm": 2,
                "title": "C",
                "stage": "S",
                "unit": "V",
                "missed": {"count": 1, "of": 1, "low": 0.2, "high": 1},
                "band": None,
                "evidence": None,
                "meaning": None,
                "causes": [],
                "suggested_edit": "",
                "stops": 0,
                "photos": 0,
                "snags": [],
            }
        ],
    }
    jsonschema.validate(old, SCHEMA, jsonschema.Draft202012Validator)


def test_the_csv_has_every_reading(revision):
    lines = list(csv.DictReader(io.StringIO("".join(csv_lines(revision)), newline="")))
    assert len(lines) == Reading.objects.count() == 24
    assert {line["outcome"] for line in lines} == {"in band", "out of band"}
    assert float(lines[0]["value"]) == 345.0


def test_the_csv_ends_its_lines_as_the_standard_says(revision):
    assert all(line.endswith("\r\n") for line in csv_lines(revision))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("=1+1", "'=1+1"),
        ("+cmd", "'+cmd"),
        ("@x", "'@x"),
        ("-7.3", "-7.3"),
        ("-2+3", "'-2+3"),
        ("\tx", "'\tx"),
        ("285 V", "285 V"),
        (" =1+1", "' =1+1"),
        ("\u00a0=1+1", "'\u00a0=1+1"),
        ("\n=1+1", "'\n'=1+1"),
        (";=1+1", "';'=1+1"),
        (",@x", "',@x"),
        ("\uff1d1+1", "'\uff1d1+1"),
        ("\uff0b1+1", "'\uff0b1+1"),
        ("\ufeff=1+1", "'\ufeff=1+1"),
        ("\u22122+3", "'\u22122+3"),
        ('"=1+1', "'\"=1+1"),
        ("\u202e=1+1", "'\u202e=1+1"),
        ("\u00ad\u200e=1+1", "'\u00ad\u200e=1+1"),
        ("\u1680\u2028+x", "'\u1680\u2028'+x"),
        ("\x00\x1b@x", "'\x00\x1b@x"),
        ("hum;=1+1;x", "hum;'=1+1;x"),
        ("hum\t \uff1d1+1", "hum\t' \uff1d1+1"),
        ("hum\r\n@x", "hum\r\n'@x"),
        ("3;-5;7", "3;-5;7"),
        ("-1;2", "'-1;2"),
        ("R1, -5 V on the grid", "R1, -5 V on the grid"),
        ("\u3164=1+1", "'\u3164=1+1"),  # a filler, which looks like a blank
        ("\u2800@SUM(A1)", "'\u2800@SUM(A1)"),
        ("\u034f=1+1", "'\u034f=1+1"),
    ],
)
def test_formulas_are_defused(text, expected):
    assert defuse(text) == expected


@pytest.mark.lengthy
@given(st.text(max_size=20) | st.text("=+-@;,\t\n '\"a1\uff1d\u202e", max_size=12))
@example("-0\r0")
@example("-1;2")
def test_no_text_stays_a_formula(text):
    """Also where the reader splits at semicolons, tabs and line ends (OWASP, "CSV Injection": take care of the field
    separator and the quotes, with which a new cell is started)."""
    for cell in [defuse(text), *re.split(r"[;\t\r\n]", defuse(text))]:
        if cell.startswith(("=", "+", "-", "@")):
            float(cell)


@pytest.mark.lengthy
def test_an_empty_programme_still_has_its_summary(client):
    revision = factories.make_revision()
    assert "No check had a reading out of band" in text_of(summary_pdf(gather(revision)))
    jsonschema.validate(json.loads("".join(json_lines(gather(revision)))), SCHEMA)


@pytest.mark.lengthy
def test_the_packing_slip_shows_the_link_and_the_cautions(revision):
    text = text_of(packing_slip(revision.builds.first(), "https://example.org/invitation/abc/"))
    assert "https://example.org/invitation/abc/" in text and "Lethal voltages" in text


@pytest.mark.lengthy
def test_the_packing_slip_prints_our_own_links_only(client, revision):
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("reports:packing-slip", args=[revision.builds.first().pk])
    assert client.post(address, {"link": "https://elsewhere.example/"}).status_code == 422
    assert client.post(address, {"link": invitation_link("abc")})["Content-Type"] == "application/pdf"


@pytest.mark.lengthy
def test_the_packing_slip_has_lines_for_the_valves_makes_and_codes(revision):
    build = revision.builds.first()
    assert "Date code" not in text_of(packing_slip(build, "https://example.org/i/"))
    kit = factories.make_revision(parts=({"ref": "V2", "kind": "pentode", "detail": {"base": "B9A", "type": "EL84"}},))
    text = text_of(packing_slip(factories.make_build(revision=kit), "https://example.org/i/"))
    assert "Date code" in text and "EL84" in text


@pytest.mark.lengthy
def test_the_build_record_marks_verdicts_and_says_what_was_conceded(revision):
    build = factories.make_build(revision=factories.make_revision())
    check = factories.checks_of(revision=build.revision)[0]
    factories.add_reading(build=build, check=check, value=200.0, outcome="out of band")
    concede(build, check, by=None, reason="The prototype read so too.", at=timezone.now() + timedelta(seconds=9))
    text = " ".join(text_of(build_record(build)).split())
    assert "✗ out of band Concession: The prototype read so too." in text and "200 V" in text
    assert text.index("Signature") < text.index("All readings")


@pytest.mark.lengthy
def test_the_build_record_lists_every_reading(revision):
    text = text_of(build_record(revision.builds.first()))
    assert "Check 1.2" in text and "345" in text


@pytest.mark.lengthy
def test_gathering_takes_the_same_queries_for_more_builds(django_assert_num_queries):
    for builds in (2, 12):
        made = factories.make_revision(stages=1, checks=2)
        for _ in range(builds):
            factories.add_reading(
                build=factories.make_build(revision=made),
                check=made.stages.first().checks.first(),
                outcome="out of band",
                value=350,
            )
        with django_assert_num_queries(34):
            gather(made)


def test_a_serial_number_of_any_letters_names_its_paper(client):
    build = factories.make_build(serial='7"; é Ω')
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    answer = client.get(reverse("reports:build-record", args=[build.pk]))
    assert answer.status_code == 200
    assert answer["Content-Disposition"] == "attachment; filename*=utf-8''build-record-7%22%3B%20%C3%A9%20%CE%A9.pdf"


@pytest.mark.lengthy
def test_a_root_cause_is_printed_on_paper(revision):
    """Labels of causes are lazy translations, which no join takes as they are."""
    check = factories.checks_of(revision=revision)[0]
    Triage.objects.create(build=revision.builds.first(), check_row=check, cause=Cause.WORKMANSHIP)
    assert "Root cause: workmanship." in text_of(summary_pdf(gather(revision)))


@pytest.mark.parametrize(
    ("text", "paper"),
    [
        ("See [the data sheet](https://example.org/el84.pdf?a=1&b=2).",
         "See the data sheet (https://example.org/el84.pdf?a=1&amp;b=2)."),
        ("[**Write** to us](mailto:help@example.org)", "<b>Write</b> to us (help@example.org)"),
        ("<https://example.org/kit>", "https://example.org/kit"),
        ("[example.org/kit](https://example.org/kit/)", "example.org/kit"),
        ("[here](javascript:alert(1))", "[here](javascript:alert(1))"),
    ],
)  # fmt: skip
def test_a_link_on_paper_shows_where_it_leads(text, paper):
    assert mark_up(text) == paper
