"""A guide's figures of the finished amplifier: the same rules in file and editor, and there and back again."""

import pytest

from builds.guides.editor.forms import CheckForm
from builds.guides.guide_file import GuideErrors, read_guide, store_guide
from builds.guides.guide_file.write import write_guide
from tests import factories
from tests.builds.bench.test_figures import GUIDE

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
