"""A typed entry has one verdict at all five doors: a check's field, readings in a row, a filled worksheet, a program
with a token, and a phone that judges by itself.

`five_doors.csv` holds the entries with the outcome a measurement engineer wants: pass, too_close, out, stop, or "no"
for one that is not saved, because it is asked about or cannot be read. It is worked out from the figures of FIGURES and
the meter of tests/dangers/table.py: 6000 counts, ±(0.5 % + 3 digits), 10 MΩ.
"""

import csv
from pathlib import Path

import pytest

from builds.bench.offline.judging import rules_for
from builds.bench.readings.context import build_context
from builds.guides.models import Check
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.dangers.table import _unescaped
from tests.dangers.test_every_way_in import FIGURES, make_bench, tried
from tests.offline.test_judged_alike import on_the_phone

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MORE = {
    "dead": {"measure": "dc volts", "at_least": "200 V"},
    "sink": {"measure": "temperature", "at_most": "60 °C"},
}
WAYS = ("single", "grid", "sheet", "program")
KEPT = {"pass", "too_close", "out", "stop"}
PHONE = {"i": "pass", "c": "too_close", "o": "out", "x": "stop"}
LEFT_TO_THE_SITE = "?"


def rows() -> list[dict]:
    with (Path(__file__).parent / "five_doors.csv").open(encoding="utf-8", newline="") as file:
        return [{**row, "typed": _unescaped(row["typed"])} for row in csv.DictReader(file)]


@pytest.fixture
def bench(client, monkeypatch):
    monkeypatch.setattr("builds.operations.api.tokens.limits.is_allowed", lambda *_of_a_program: True)
    monkeypatch.setattr("tests.dangers.test_every_way_in.FIGURES", FIGURES | MORE)
    return make_bench(client)


def at_the_phone(page, bench, table) -> list[str]:
    checks = Check.objects.filter(stage__revision=bench.build.revision).select_related("stage__revision")
    rules = {
        check.key: rules_for(build_context(bench.build, check, None)) for check in checks if check.key in FIGURES | MORE
    }
    return on_the_phone(page, [(row["check"], row["typed"], row["button"]) for row in table], rules)


@pytest.mark.lengthy
def test_an_entry_has_one_verdict_at_all_five_doors(page, live_server, bench):
    page.goto(live_server.url + "/safety/")
    table, wrong, unread = rows(), [], 0
    assert len(table) > 140 and {row["check"] for row in table} >= {"dead", "sink", "bplus", "earth", "grid", "bias"}
    for row, code in zip(table, at_the_phone(page, bench, table), strict=True):
        cell = row["check"], row["typed"], row["button"]
        got = {way: tried(bench, way, cell) for way in WAYS}
        got = {way: answer if answer in KEPT else "no" for way, answer in got.items()}
        if code != LEFT_TO_THE_SITE:
            got["phone"] = PHONE.get(code, "no")
        unread += code == LEFT_TO_THE_SITE
        if set(got.values()) != {row["wanted"]}:
            wrong.append((*map(ascii, cell), row["wanted"], got, code))
    assert wrong == [], "\n".join(map(str, wrong))
    assert unread < 0.15 * len(table)  # the phone does judge; of letters it knows nothing of it says so


@pytest.mark.lengthy
def test_the_table_wants_each_outcome_and_no_stop_is_left_to_the_site(page, live_server, bench):
    page.goto(live_server.url + "/safety/")
    table = rows()
    assert {row["wanted"] for row in table} == {"pass", "too_close", "out", "stop", "no"}
    stops = [row for row in table if row["wanted"] == "stop"]
    assert len(stops) > 15 and set(at_the_phone(page, bench, stops)) == {"x"}
