"""The trial kits as the site sees them: good guide files that can be imported and issued."""

import tomllib

import pytest

from builds.guides.guide_file import GuideErrors, read_guide, store_guide
from builds.guides.models import Revision
from builds.guides.revisions import issue
from tests.factories import make_designer
from tests.trials.bench import Bench
from tests.trials.circuit import GUIDES, KITS, LATER, VALVES, circuit_of, load
from tests.trials.figures import figure, limits


@pytest.mark.parametrize("kit", KITS)
def test_a_kit_has_all_that_a_trial_needs(kit):
    guide = load(kit)
    checks = [c for s in guide["stage"] for c in s.get("check", [])]
    assert 25 <= len(checks) <= 45
    assert any(s.get("not_fitted") for s in guide["stage"]) and any("stop_above" in c for c in checks)
    assert all(limits(c) != (None, None) for c in checks)
    assert all(p.get("pins") and p.get("joins") for p in guide["part"] if p["kind"] in VALVES)


@pytest.mark.parametrize("kit", KITS)
def test_every_part_but_a_socket_or_a_screw_is_fitted_by_a_step(kit):
    fitted = circuit_of(load(kit)).stage_of
    loose = {
        p["ref"] for p in load(kit)["part"] if p["kind"] not in ("hardware", "test resistor", "test battery")
    } - set(fitted)
    assert not loose


@pytest.mark.parametrize("kit", [*KITS, *(pytest.param(kit, marks=pytest.mark.slow) for kit in LATER)])
def test_figures_of_a_guide_are_those_of_its_prototype(kit):
    """A kit whose parts are edited without its figures would try the diagnosis with bands that no build can keep."""
    guide = load(kit)
    bench = Bench(guide, circuit_of(guide))
    for n, stage in enumerate(guide["stage"]):
        for check in (c for c in stage.get("check", []) if "expected" in c):
            value = bench.value(n, check, 10e6)
            if check["measure"] == "current":
                value /= figure(next(p["value"] for p in guide["part"] if p["ref"] == check["through"]))
            assert value == pytest.approx(figure(check["expected"]), rel=0.01), check["key"]


@pytest.mark.lengthy
@pytest.mark.django_db
@pytest.mark.parametrize("kit", KITS)
def test_a_kit_is_imported_and_issued(kit, monkeypatch):
    monkeypatch.setattr(
        "builds.jobs.queue.on_commit", lambda work: None
    )  # what is asked of the worker is not done here
    draft = store_guide(read_guide((GUIDES / f"{kit}.toml").read_bytes()), make_designer())
    issue(draft)
    draft.refresh_from_db()
    assert draft.state == Revision.State.ISSUED
    assert draft.parts.filter(kind__in=VALVES).count() >= 2


@pytest.mark.parametrize("kit", KITS)
def test_a_kit_with_a_probe_on_no_pin_is_refused(kit):
    text = (GUIDES / f"{kit}.toml").read_text()
    assert tomllib.loads(text)
    with pytest.raises(GuideErrors):
        read_guide(text.replace('red = "V1.1"', 'red = "V1.anode"').encode())
