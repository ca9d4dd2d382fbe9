"""The fault dictionary keeps why a fault has no figure, and the designer's pages say it."""

import numpy as np
import pytest
from django.urls import reverse

from builds.guides import revisions
from builds.guides.circuit.fault_dictionary import load_fault_dictionary
from builds.guides.guide_file import read_guide, store_guide
from builds.ui.messages.circuit import no_figure_sentence
from checks.circuit.netlist.remark import Remark, RemarkCode
from checks.errors import ChecksError
from tests import factories
from tests.builds.guides.test_circuit import GUIDE

pytestmark = pytest.mark.django_db
PAGES = ("review:coverage", "review:faults")
CHOKE = """[[part]]
ref = "L1"
kind = "inductor"
value = "20H"
ohms = "150R"
joins = ["raw", "ht"]
[[part]]
ref = "R1"
"""
BESIDE = """[[part]]
ref = "C2"
kind = "electrolytic"
value = "47u"
volts = "450 V"
joins = ["ht", "chassis"]
[[part]]
ref = "R1"
"""
INTO_CHOKE = (
    GUIDE.replace('cathode = "ht"', 'cathode = "raw"')
    .replace('[[part]]\nref = "R1"\n', CHOKE)
    .replace('"100k"', '"4k7"')
    .replace('expected = "330 V"', 'expected = "170 V"')
)


@pytest.fixture
def designer():
    return factories.make_designer()


def issued(guide, designer):
    return revisions.issue(store_guide(read_guide(guide.encode()), designer))


@pytest.mark.lengthy
def test_the_reasons_survive_being_kept_and_both_pages_give_them(designer, client):
    prepared = load_fault_dictionary(issued(INTO_CHOKE, designer))
    reasons = {one.fault: one.why for one in prepared.unsolved}
    assert reasons["D1 open"] == Remark(RemarkCode.CHOKE_INPUT, {"refs": "D2", "choke": "L1"})
    without = np.isnan(prepared.mean[1:]).any(axis=1)
    assert {f.key for f, lost in zip(prepared.faults, without, strict=True) if lost} == set(reasons)
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    for page in PAGES:
        answer = client.get(reverse(page, args=["divider", "A"]))
        assert 'id="unsolved"' in answer.content.decode(), page
        assert no_figure_sentence(reasons["D1 open"]) in answer.content.decode(), page


@pytest.mark.lengthy
def test_of_a_circuit_whose_every_fault_is_solved_the_pages_say_nothing_of_it(designer, client):
    assert load_fault_dictionary(issued(GUIDE.replace('[[part]]\nref = "R1"\n', BESIDE), designer)).unsolved == ()
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    for page in PAGES:
        assert 'id="unsolved"' not in client.get(reverse(page, args=["divider", "A"])).content.decode()


def test_a_circuit_that_raises_and_one_that_does_not_settle_have_a_sentence():
    error = ChecksError("The circuit did not settle.", code="no-convergence", worst="V1", others=[])
    assert "V1" in no_figure_sentence(error)
    assert no_figure_sentence(Remark(RemarkCode.NOT_SETTLED))
