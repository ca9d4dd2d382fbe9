"""Figures that took long to compute say what took it."""

import pytest

from builds.guides.circuit import durations, stored
from builds.guides.circuit.durations import Durations, slow_rows
from builds.guides.models import CircuitFigures
from builds.ui.messages.progress import slowest_sentence
from tests import factories


@pytest.fixture
def clock(monkeypatch):
    """Seconds of a core, set by hand."""
    now = [100.0]
    monkeypatch.setattr(durations.time, "process_time", lambda: now[0])

    def on(seconds):
        now[0] += seconds

    return on


def computed(clock, of_stage_2: float):
    reports = []
    steps = Durations(lambda *args, **params: reports.append((args, params)))
    steps.report(0, 3, "stage", number=1, count=2)
    clock(1)
    steps.report(1, 3, "stage", number=2, count=2)
    clock(of_stage_2)
    steps.report(2, 3, "stress")
    clock(0.5)
    steps.report(3, 3)
    clock(2)
    return steps, reports


def test_the_slowest_step_is_named_with_its_seconds(clock):
    steps, _reports = computed(clock, 9)
    assert steps.rows()[0] == ["stage", 2, 9.0] and sum(row[2] for row in steps.rows()) == 12.5
    text = slowest_sentence(slow_rows({"took": steps.rows()}))
    assert "12 s" in text and "stage 2, 9 s" in text


def test_figures_made_in_ten_seconds_say_nothing(clock):
    steps, _reports = computed(clock, 6.5)
    assert slow_rows({"took": steps.rows()}) == [] and slowest_sentence([]) == ""


def test_figures_of_before_say_nothing():
    assert slow_rows({"checks": {}}) == []


def test_whoever_waits_is_shown_every_step_all_the_same(clock):
    _steps, reports = computed(clock, 1)
    assert reports[1] == ((1, 3, "stage"), {"number": 2, "count": 2})
    assert reports[2] == ((2, 3, "stress"), {}) and reports[3] == ((3, 3, ""), {})


@pytest.mark.django_db
def test_the_page_of_slow_figures_says_what_took_long(client, monkeypatch):
    designer = factories.make_designer()
    revision = factories.make_revision(designer=designer, issued=False)
    stored.make_figures(lambda *_args, **_params: None, revision.pk, "")
    figures = CircuitFigures.objects.get()
    assert figures.detail["took"]
    client.force_login(designer)
    page = f"/kits/{revision.kit.key}/A/circuit/"
    assert "Slowest" not in client.get(page).content.decode()
    monkeypatch.setattr(durations, "SLOW", -1.0)
    assert "Slowest: " in client.get(page).content.decode()
