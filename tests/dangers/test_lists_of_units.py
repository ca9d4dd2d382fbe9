"""A list of units that nobody touched says nothing of the unit: 250 mV of a dead supply, typed as 250 in a table of
readings or from a worksheet, are not the 250 V that "at least 200 V" asks for."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone
from lxml import html

from builds.bench.models import Reading
from builds.guides.models import Check
from tests.dangers import driving

pytestmark = pytest.mark.django_db
FIGURES = {
    "dead": {"measure": "dc volts", "at_least": "200 V"},
    "bond": {"measure": "continuity", "at_most": "500 mΩ"},
    "grid": {"measure": "dc volts", "low": "-500 mV", "high": "300 mV"},
    "r100": {"measure": "resistance", "expected": "100 Ω", "band": "10%"},
    "bplus": {"measure": "dc volts", "low": "285 V", "high": "335 V"},
}
TYPED = {"dead": "250", "bond": "0.12", "grid": "0.25", "r100": "100.1", "bplus": "301"}
ASKED = {"dead", "bond", "grid", "r100"}  # where the meter may have shown another unit


@pytest.fixture
def bench(client, monkeypatch):
    monkeypatch.setattr(driving, "FIGURES", FIGURES)
    build, _checks = driving.make_bench()
    Check.objects.update(red="a")
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return client, build


def sent_by_a_browser(page: str, name: str) -> str:
    """The option selected, else the first (WHATWG HTML, 4.10.7: the display size is 1 and nothing is selected)."""
    (units,) = html.fromstring(page).xpath(f"//select[@name='{name}']")
    options = units.xpath("./option")
    return next((one for one in options if "selected" in one.attrib), options[0]).get("value")


@pytest.mark.lengthy
def test_a_row_of_the_table_asks_for_the_unit(bench):
    client, build = bench
    page = client.get(reverse("bench:grid", args=[build.pk, "stage-1"])).content.decode()
    forms = html.fromstring(page).xpath("//form[.//select]")
    for form in forms:
        key = form.get("action").rstrip("/").rpartition("/")[2]
        unit = sent_by_a_browser(html.tostring(form, encoding="unicode"), "unit")
        data = {"typed": TYPED[key], "entry_key": str(uuid4()), "unit": unit}
        client.post(form.get("action"), data, headers={"HX-Request": "true"})
    assert {*Reading.objects.values_list("check_row__key", flat=True)} == {*FIGURES} - ASKED and len(forms) == len(
        FIGURES
    )


def test_a_line_of_a_worksheet_asks_for_the_unit(bench):
    client, build = bench
    address = reverse("bench:sheet", args=[build.pk, "stage-1"])
    page = client.get(address).content.decode()
    data = {"entry_key": str(uuid4()), "day": timezone.now().date().isoformat()}
    for key, typed in TYPED.items():
        data |= {f"{key}-typed": typed, f"{key}-at": "00:01", f"{key}-unit": sent_by_a_browser(page, f"{key}-unit")}
    answer = client.post(address, data)
    assert answer.status_code == 422 and not Reading.objects.exists()
    text = answer.content.decode()
    assert all(sent_by_a_browser(text, f"{key}-unit") == "" for key in ASKED)  # and is still asked for


def test_a_unit_that_was_chosen_stays_chosen_when_something_else_is_asked(bench):
    client, build = bench
    address = reverse("bench:sheet", args=[build.pk, "stage-1"])
    data = {"entry_key": str(uuid4()), "day": "", "dead-typed": "250", "dead-unit": "mV", "dead-at": "00:01"}
    assert sent_by_a_browser(client.post(address, data).content.decode(), "dead-unit") == "mV"
