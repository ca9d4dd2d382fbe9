"""Whether guide, circuit and builds agree is on the check's page, in the advice and in the fault summary."""

import json
from dataclasses import replace

import pytest
from django.urls import reverse

from builds.guides.circuit.stored import attach
from builds.review import findings_cache
from builds.review.changes.open_findings import OpenFinding
from builds.review.changes.suggest import advise
from builds.review.problems.state import ProblemState
from builds.review.queries import list_checks
from builds.ui.messages.findings import claim, evidence_sentence
from builds.ui.messages.suggestions import AdviceCode
from checks.statistics.agreement import Verdict
from checks.statistics.findings import Kind
from tests import factories
from tests.builds.review.test_suggest import SHIFTED, case

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision():
    """The guide says 300 V; eight builds read about 344 V."""
    made = factories.make_revision(stages=1, checks=1)
    check = factories.checks_of(revision=made)[0]
    for n in range(8):
        build = factories.make_build(revision=made)
        factories.add_readings(rows=[(build, check, [(344.0 + n / 4, "out of band")])])
    return made


def meaning_of(revision, circuit):
    (check,) = list_checks(revision)
    check.stage.revision = revision
    attach(revision, [check], {f"{check.stage.key}/{check.key}": circuit} if circuit else {})
    return findings_cache.meanings([check])[check.pk]


@pytest.mark.parametrize(
    ("figure", "verdict"), [(345.0, Verdict.GUIDE_APART), (301.0, Verdict.BUILDS_APART), (200.0, Verdict.NONE_AGREE)]
)
def test_the_circuit_says_whether_guide_or_builds_are_apart(revision, figure, verdict):
    circuit = {"value": figure, "low": figure - 5, "high": figure + 5}
    agreement = meaning_of(revision, circuit).agreement
    assert (agreement.verdict, agreement.circuit, agreement.guide, agreement.n) == (verdict, figure, 300.0, 8)


def test_builds_that_differ_from_guide_and_circuit_are_no_reason_to_call_the_figure_wrong(revision):
    """The claim that leads the check's page, and what guide, circuit and builds say below it, blame the same."""
    with_guide, with_builds = (
        meaning_of(revision, {"value": value, "low": value - 5, "high": value + 5}).finding for value in (301.0, 345.0)
    )
    assert with_guide.kind == with_builds.kind == Kind.FIGURE_OFF
    assert with_guide.probability == with_builds.probability
    wrong = claim(replace(with_builds, agreement=None))
    assert with_builds.claim == wrong != with_guide.claim


def test_a_decision_keeps_the_claim_that_it_was_taken_on(revision):
    (check,) = list_checks(revision)
    finding = meaning_of(revision, {"value": 301.0, "low": 296, "high": 306}).finding
    basis = OpenFinding(check, finding, None, (), None, 8, ProblemState.OPEN).basis
    assert evidence_sentence(json.loads(json.dumps(basis))).startswith(finding.claim + ". ")
    of_old = {name: value for name, value in basis.items() if name != "agreement"}  # decided before it was kept
    assert evidence_sentence(of_old).startswith(claim(finding) + ". ")


def test_without_a_circuit_guide_and_builds_are_compared(revision):
    agreement = meaning_of(revision, None).agreement
    assert agreement.circuit is None and agreement.verdict is not Verdict.AGREE


def test_a_checks_page_says_when_its_sources_disagree(client, revision):
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    check = factories.checks_of(revision=revision)[0]
    answer = client.get(reverse("review:check", args=[revision.kit.key, "A", check.pk]))
    assert answer.context["agreement"].verdict is not Verdict.AGREE
    assert answer.context["agreement_sentence"] in answer.content.decode()


def test_the_advice_on_a_figure_names_the_sources_where_there_are_three():
    apart = meaning_stub(Verdict.GUIDE_APART)
    assert AdviceCode.SOURCES in [a.code for a in advise(case(SHIFTED, agreement=apart))]
    assert AdviceCode.SOURCES not in [a.code for a in advise(case(SHIFTED))]
    assert AdviceCode.SOURCES not in [a.code for a in advise(case(agreement=apart))]  # a band too tight


def test_where_the_builds_alone_are_apart_they_are_looked_at_before_the_guide_is_changed():
    codes = [a.code for a in advise(case(SHIFTED, agreement=meaning_stub(Verdict.BUILDS_APART)))]
    assert codes.index(AdviceCode.SOURCES) < codes.index(AdviceCode.CHANGE_FIGURE)
    codes = [a.code for a in advise(case(SHIFTED, agreement=meaning_stub(Verdict.GUIDE_APART)))]
    assert codes.index(AdviceCode.CHANGE_FIGURE) < codes.index(AdviceCode.SOURCES)


def test_builds_in_two_groups_are_no_source_and_suggest_no_figure(client):
    """Four read 300 V and four 345 V: their median is neither."""
    made = factories.make_revision(stages=1, checks=1)
    check = factories.checks_of(revision=made)[0]
    for n in range(8):
        value, outcome = (300.0 + n, "in band") if n % 2 else (345.0 + n, "out of band")
        factories.add_readings(rows=[(factories.make_build(revision=made), check, [(value, outcome)])])
    meaning = meaning_of(made, {"value": 301.0, "low": 296.0, "high": 306.0})
    assert meaning.finding.kind == Kind.BATCH and meaning.agreement.builds is None
    client.force_login(made.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("review:check", args=[made.kit.key, "A", check.pk]))
    assert page.context["agreement"] is None and "Suggested by the builds" not in page.content.decode()


def meaning_stub(verdict):
    from checks.statistics.agreement import Agreement

    return Agreement(verdict, 300.0, 354.0, 355.0, 8)
