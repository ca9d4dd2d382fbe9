"""Edits of the guide's text: decided, planned, proposed, or to be written."""

import csv
import io
import json
from pathlib import Path

import jsonschema
import pytest
from django.utils import timezone

from builds.bench.models import ConfirmedFault, Erratum, Snag
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check
from builds.reports.as_json import json_lines
from builds.reports.edits import Edit
from builds.reports.gather import gather
from builds.reports.tabular import change_lines
from builds.review.changes.decide import accept_check, accept_snag, decline_change
from builds.review.models import Triage
from tests import factories

pytestmark = pytest.mark.django_db
SCHEMA = json.loads((Path(__file__).parents[3] / "builds/reports/schema/fault-summary-1.schema.json").read_text())


def finding(revision, key="check-1-1"):
    return next(f for f in gather(revision).findings if f.target[1] == key)


def first_check(revision):
    return revision.stages.first().checks.first()


@pytest.mark.lengthy
def test_a_figure_that_is_off_is_proposed_with_its_band(revision):
    figure, band = finding(revision).edits
    assert (figure.what, figure.before, figure.source) == ("expected", "300 V", "proposed")
    assert figure.after.startswith("346")
    assert band.before == "± 10 %" and band.after.endswith(" V") and "8 builds" in band.why


@pytest.mark.lengthy
def test_what_was_accepted_is_one_edit_with_its_reason(revision):
    accept_check(
        revision,
        first_check(revision),
        {"expected": "346 V", "low": "336 V", "high": "356 V"},
        reason="The builds agree.",
        by=revision.kit.designers.first(),
    )
    (edit,) = finding(revision).edits
    assert edit == Edit(
        "Stage 1: Check 1.1", "figure and band", "300 V ± 10 %", "346 V, 336 to 356 V", "accepted", "The builds agree."
    )
    assert [p.text for p in edit.pieces] == ["300 V ± 10 %", " → ", "346 V, 336 to 356 V"]
    assert finding(revision).decided == "change planned"


@pytest.mark.lengthy
def test_a_planned_change_comes_before_what_is_worked_out(revision):
    Triage.objects.create(build=revision.builds.first(), check_row=first_check(revision), planned_change="Print 346 V.")
    assert [(e.source, e.after) for e in finding(revision).edits] == [("planned", "Print 346 V.")]


@pytest.mark.lengthy
def test_a_cause_confirmed_in_two_builds_becomes_a_hint(revision):
    check = Check.objects.get(stage__revision=revision, key="check-1-2")
    one = next(b for b in revision.builds.all() if b.readings.filter(outcome="out of band").count() == 2)
    other = factories.make_build(revision=revision)
    take_reading(other, check, "241", by=other.builder)
    ConfirmedFault.objects.create(build=one, fault="r5-open", words="R5 is open")
    assert finding(revision, "check-1-2").edits == ()  # one build's trouble is no news for all
    ConfirmedFault.objects.create(build=other, fault="r5-open", words="R5 is open")
    (edit,) = finding(revision, "check-1-2").edits
    assert (edit.what, edit.after) == ("hint when low", "Seen before: R5 is open.")
    assert one.serial in edit.why and other.serial in edit.why


@pytest.mark.lengthy
def test_a_step_that_builders_stumbled_over_must_be_written(revision):
    step = revision.stages.first().steps.first()
    snag = Snag.objects.create(
        build=revision.builds.first(), stage=step.stage, step=step, kind="words", words="Which end?"
    )
    (edit,) = finding(revision, step.key).edits
    assert (edit.source, edit.before, edit.after, edit.pieces) == ("to write", step.text, None, ())
    accept_snag(revision, snag, "Do thing 1 with the long lead.", reason="", by=revision.kit.designers.first())
    (edit,) = finding(revision, step.key).edits
    assert edit.source == "accepted" and [p.text for p in edit.pieces if p.kind == "in"] == [" with the long lead"]


@pytest.mark.lengthy
def test_a_rejected_snag_asks_for_no_words(revision):
    step = revision.stages.first().steps.first()
    snag = Snag.objects.create(
        build=revision.builds.first(), stage=step.stage, step=step, kind="words", words="Which end?"
    )
    decline_change(revision, "rejected", snag=snag, reason="It says so.", by=revision.kit.designers.first())
    assert finding(revision, step.key).edits == ()


def test_no_band_is_proposed_from_two_builds():
    made = factories.make_revision(stages=1, checks=1)
    for _ in range(2):
        build = factories.make_build(revision=made)
        take_reading(build, Check.objects.get(stage__revision=made), "345", by=build.builder)
    assert finding(made).edits == ()


@pytest.mark.lengthy
def test_the_list_of_edits_keeps_decisions_evidence_and_harmless_cells(revision):
    decline_change(
        revision,
        "deferred",
        check=first_check(revision),
        reason="=later",
        evidence="8 builds",
        by=revision.kit.designers.first(),
    )
    rows = list(csv.DictReader(io.StringIO("".join(change_lines(gather(revision))), newline="")))
    assert (rows[0]["decided"], rows[0]["why"], rows[0]["evidence"]) == ("put off", "'=later", "8 builds")
    assert {r["source"] for r in rows[1:]} == {"proposed"}


@pytest.mark.lengthy
def test_errata_are_in_the_list_of_edits_and_the_json(revision):
    Erratum.objects.create(
        revision=revision,
        stage=revision.stages.first(),
        words="=The wire is blue.",
        again="Look at yours.",
        by=revision.kit.designers.first(),
    )
    Erratum.objects.create(
        revision=revision, stage=revision.stages.first(), words="Taken back.", withdrawn_at=timezone.now()
    )
    gathered = gather(revision)
    rows = [
        r for r in csv.DictReader(io.StringIO("".join(change_lines(gathered)), newline="")) if r["source"] == "erratum"
    ]
    assert [(r["where"], r["after"], r["why"]) for r in rows] == [
        ("Stage 1: the whole stage", "'=The wire is blue.", "Look at yours.")
    ]
    data = json.loads("".join(json_lines(gathered)))
    jsonschema.validate(data, SCHEMA, jsonschema.Draft202012Validator)
    assert [(e["where"], e["check_again"]) for e in data["errata"]] == [("Stage 1, the whole stage", "Look at yours.")]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data | {"errata": [{"words": "W"}]}, SCHEMA, jsonschema.Draft202012Validator)


@pytest.mark.lengthy
def test_an_accepted_finding_names_every_build_whose_snag_it_answers(revision):
    check = first_check(revision)
    for build in revision.builds.all()[:2]:
        Snag.objects.create(
            build=build, stage=check.stage, check_row=check, kind="reading", words="High.", by=build.builder
        )
    accept_check(revision, check, {"expected": "346 V"}, reason="", by=revision.kit.designers.first())
    (change,) = gather(revision).changes.changes
    assert change.answers.split(", ") == [s.build.serial for s in Snag.objects.filter(check_row=check).order_by("at")]
