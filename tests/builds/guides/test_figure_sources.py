"""A guide's figures of the finished amplifier: the same rules in file and editor, and there and back again."""

import tomllib

import pytest

from builds.guides.demo.files import demo_zip
from builds.guides.editor.forms import CheckForm
from builds.guides.guide_file import GuideErrors, read_guide, store_guide
from builds.guides.guide_file.figure_sources import read_formula, read_request
from builds.guides.guide_file.write import write_guide
from tests import factories
from tests.builds.bench.test_figures import GUIDE
from tests.checks.circuit.kits import DEMO

SOURCES = {"formula", "recording"}
pytestmark = pytest.mark.django_db


@pytest.fixture
def revision():
    return store_guide(read_guide(GUIDE), factories.make_designer())


def test_out_and_in_again_gives_the_same_checks(revision):
    again = read_guide(write_guide(revision).encode())
    assert again["stage"] == read_guide(GUIDE)["stage"]


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        (b'formula = { of = ["full"], load = "8 ohm" }', b"", "formula"),
        (b'of = ["full"]', b'of = ["nowhere"]', "formula"),
        (b'of = ["full"]', b'of = ["thd"]', "formula"),
        (b'of = ["full"], load = "8 ohm"', b'of = ["full"]', "formula"),
        (b'measure = "hum volts"', b'measure = "dc volts"', "recording"),
        (b'recording = { signal = "silence" }', b'recording = { signal = "sweep" }', "recording"),
        (b'at_most = "3 mV"', b'expected = "model"', "expected"),
        (b'at_most = "2%"', b'at_most = "2 V"', "at_most"),
    ],
)
def test_a_source_that_cannot_be_is_refused_at_its_key(old, new, key):
    assert old in GUIDE
    with pytest.raises(GuideErrors) as refused:
        read_guide(GUIDE.replace(old, new))
    assert any(key in str(vars(problem)) for problem in refused.value.problems)


def data_of(check, **changes):
    form = CheckForm(instance=check, siblings=check.stage.checks.all())
    data = {name: form[name].value() for name in form.fields}
    joined = {k: ", ".join(map(str, v)) if isinstance(v, list) else v for k, v in data.items()}
    return {k: "" if v is None else v for k, v in (joined | changes).items()}


@pytest.mark.parametrize("key", ("power", "thd", "hum"))
def test_the_editor_shows_and_keeps_what_the_file_said(revision, key):
    check = revision.stages.get().checks.get(key=key)
    formula, recording = check.formula, check.recording
    form = CheckForm(data_of(check), instance=check, siblings=check.stage.checks.all())
    assert form.is_valid(), form.errors
    saved = form.save()
    assert (saved.formula, saved.recording) == (formula, recording)


@pytest.mark.parametrize(
    ("key", "changes", "field"),
    [
        ("power", {"loads": ""}, "of"),
        ("power", {"of": ""}, "signal"),
        ("thd", {"signal": "sweep"}, "signal"),
        ("full", {"signal": "tone"}, "signal"),
    ],
)
def test_the_editor_refuses_what_the_file_refuses(revision, key, changes, field):
    check = revision.stages.get().checks.get(key=key)
    form = CheckForm(data_of(check, **changes), instance=check, siblings=check.stage.checks.all())
    assert not form.is_valid() and field in form.errors


def demo_checks():
    rows = tomllib.loads(DEMO.read_text(encoding="utf-8"))["stage"]
    return [(stage["key"], row["key"]) for stage in rows for row in stage.get("check", []) if SOURCES & row.keys()]


@pytest.mark.lengthy
def test_the_editor_keeps_every_figure_of_the_demonstration_as_the_file_says_it():
    """Saving a check once turned a signal of four seconds into one of ten, and forgot the loads' tolerance."""
    demo = store_guide(read_guide(demo_zip()), factories.make_designer())
    places = demo_checks()
    assert len(places) > 12
    for stage, key in places:
        check = demo.stages.get(key=stage).checks.get(key=key)
        kept = read_formula(check), read_request(check)
        form = CheckForm(data_of(check), instance=check, siblings=check.stage.checks.all())
        assert form.is_valid(), (key, form.errors)
        saved = form.save()
        assert (read_formula(saved), read_request(saved)) == kept


def test_signal_to_noise_is_worked_out_from_recorded_noise_and_typed_volts():
    guide = GUIDE.replace(
        b'[[stage.check]]\nkey = "power"',
        b"""[[stage.check]]
key = "below"
title = "Hum below full output"
measure = "below full output"
red = "=the load"
at_least = "60 dB"
formula = { of = ["hum", "full"] }
[[stage.check]]
key = "power\"""",
    )
    with pytest.raises(GuideErrors) as refused:  # hum is recorded further down
        read_guide(guide)
    assert [problem for problem in refused.value.problems if "formula" in str(vars(problem))]
    keys = [row["key"] for row in read_guide(GUIDE)["stage"][0]["check"]]
    order = [*keys, "below"]
    read = read_guide(guide.replace(b'title = "Sign-off"', b'title = "Sign-off"\norder = ' + repr(order).encode()))
    assert read["stage"][0]["order"] == order
