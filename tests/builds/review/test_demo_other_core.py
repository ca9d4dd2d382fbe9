"""Figures begun before the guide has rows are kept for that guide alone."""

import copy

import pytest

from builds.guides.circuit.content import build_content, make_key
from builds.guides.demo.files import demo_zip
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.guide_file.store import unsaved_content
from builds.guides.models import CircuitFigures
from builds.review.demo import other_core
from builds.review.demo.other_core import OtherCore
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.mark.lengthy
@pytest.mark.parametrize("kit", ["five-watt", "line-preamp"])
def test_a_guide_without_rows_has_the_circuit_that_its_rows_will_have(kit):
    data = read_guide(demo_zip(kit))
    before = unsaved_content(data)
    draft = store_guide(data, factories.make_designer())
    assert before == build_content(draft, load_guide(draft))


class Done:
    def __init__(self, value):
        self._value = value

    def result(self):
        return self._value


class Pool:
    """Does at once, and cheaply, what another core would do."""

    def submit(self, function, *args, **options):
        return Done({"checks": {}, "begun": True})

    def shutdown(self, cancel_futures):
        pass


@pytest.fixture
def core(monkeypatch):
    monkeypatch.setattr(other_core, "ProcessPoolExecutor", lambda *args, **options: Pool())
    with OtherCore() as core:
        yield core


@pytest.mark.lengthy
def test_figures_begun_for_another_circuit_are_not_kept(core, monkeypatch):
    data = read_guide(demo_zip("line-preamp"))
    other = copy.deepcopy(data)
    next(part for part in other["part"] if part["kind"] == "resistor")["value"] = "123k"
    core.begin_guide(other, [])
    draft = store_guide(data, factories.make_designer())
    computed = []
    monkeypatch.setattr(other_core, "compute_figures", lambda draft, samples: computed.append(draft))
    core.keep_figures(draft)
    assert computed == [draft]
    assert not CircuitFigures.objects.exists()


@pytest.mark.lengthy
def test_figures_begun_for_this_circuit_are_kept_under_its_content(core):
    data = read_guide(demo_zip("line-preamp"))
    core.begin_guide(data, [])
    draft = store_guide(data, factories.make_designer())
    core.keep_figures(draft)
    kept = CircuitFigures.objects.get()
    assert kept.key == make_key(build_content(draft, load_guide(draft))) and kept.detail["begun"]
