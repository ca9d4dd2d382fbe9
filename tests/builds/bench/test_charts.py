"""The charts of a build: a table for each stage and socket, with units."""

import pytest
from django.urls import reverse

from builds.bench.charts import chart
from builds.guides.models import Check
from tests import factories

pytestmark = pytest.mark.django_db
EL84 = {"ref": "V2", "kind": "pentode", "detail": {"base": "B9A", "type": "EL84", "pins": {"anode": "7", "grid": "2"}}}


@pytest.fixture
def build():
    revision = factories.make_revision(stages=2, checks=1, issued=False, parts=(EL84,))
    Check.objects.filter(stage__revision=revision).update(red="V2.7")
    return factories.make_build(revision=revision)


def test_the_same_pin_without_valves_and_with_them_stands_in_two_tables(build):
    tables = chart(build, "voltage")[0].tables
    assert [t.stage.key for t in tables] == ["stage-1", "stage-2"]
    assert [[row.pin for row in t.rows if row.cells] for t in tables] == [["7"], ["7"]]
    assert all(len(t.rows) == 9 for t in tables)  # every pin of a noval socket


def test_what_was_read_has_its_unit_and_the_figures_source_is_said_once(client, build):
    factories.add_reading(build=build, check=factories.checks_of(revision=build.revision)[0], value=312.0)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("bench:charts", args=[build.pk, "voltage"])).content.decode()
    assert "312 V" in page and "270\u00a0V to 330\u00a0V" in page  # no unit on a line of its own
    assert page.count("Expected values:") == 2  # once above each of the two tables


def test_a_band_with_one_end_says_which(build):
    Check.objects.filter(key="check-1-1").update(expected="", band="", at_most="5 V", stop_above="")
    assert chart(build, "voltage")[0].tables[0].rows[6].cells[0].limits == "at most 5.00\u00a0V"
