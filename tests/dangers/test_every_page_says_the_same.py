"""A reading reads the same wherever it stands: a current is typed as volts across its resistor, and no page, paper or
letter shows that figure without its unit, or with another; a stop is nowhere shown as conceded."""

import io
import json
import re

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from builds.bench.gates.gating import concede
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import MadeSafe, PowerOn
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision
from tests import factories
from tests.shortcuts import send_waiting

pytestmark = pytest.mark.django_db
PARTS = ({"ref": "R10", "kind": "resistor", "value": "180R", "tolerance": "1%"},)
CURRENT = {
    "measure": "current",
    "through": "R10",
    "red": "k",
    "expected": "45.5 mA",
    "band": "10%",
    "stop_above": "65 mA",
}


@pytest.fixture
def build():
    return make_build()


def make_build(optional=False):
    revision = factories.make_revision(stages=2, checks=2, steps=0, gate=False, issued=False, parts=PARTS)
    Check.objects.filter(stage__revision=revision, key="check-2-1").update(**CURRENT)
    Check.objects.filter(stage__revision=revision, key="check-2-2").update(optional=optional)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    acknowledge(open_sitting(build), revision.stages.get(key="stage-2"), 230.0)
    factories.give_address(revision.kit.designers.get(), "designer@kits.example")
    return build


def check(build, key="check-2-1"):
    return Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)


def read(build, typed, key="check-2-1"):
    return take_reading(build, check(build, key), typed, by=build.builder, mains_volts=230.0)


def pages(build):
    kit, here = [build.revision.kit.key, build.revision.letter], [build.pk, "stage-2"]
    bench = [("build", [build.pk]), ("stage", here), ("check", [*here, "check-2-1"]), ("readings", [build.pk])]
    bench += [("grid", here), ("map", [build.pk])]
    desk = [("build", [build.pk]), ("deviation", [build.pk, check(build).pk]), ("check", [*kit, check(build).pk])]
    desk += [(name, kit) for name in ("dashboard", "problems", "findings", "release", "builds", "map")]
    papers = [("build-record", [build.pk]), ("summary", kit), ("pdf", kit), ("stage", [*kit, "stage-2"])]
    papers += [("stage-pdf", [*kit, "stage-2"])]
    for person, app, rows in (
        (build.builder, "bench", bench),
        (build.revision.kit.designers.get(), "review", desk),
        (build.revision.kit.designers.get(), "reports", papers),
    ):
        client = Client()
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        for name, args in rows:
            address = reverse(f"{app}:{name}", args=args)
            answer = client.get(address)
            assert answer.status_code in (200, 302), address
            if answer.status_code == 200:
                yield address, words(answer)


def words(answer) -> str:
    content = b"".join(answer) if answer.streaming else answer.content
    if answer["Content-Type"].startswith("application/pdf"):
        text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    else:
        text = re.sub(r"<(script|style).*?</\1>|<[^>]*>", " ", content.decode(), flags=re.S)
    return " ".join(text.split())


@pytest.mark.lengthy
@pytest.mark.parametrize(("typed", "outcome"), [("13.07", "switch off"), ("9.87", "out of band"), ("8.19", "in band")])
def test_a_current_read_across_a_resistor_is_volts_on_every_page_and_paper(build, typed, outcome):
    """13.07 V over 180 Ω are 72.6 mA (Ohm's law); "13.07" alone, beside limits in milliamps, would pass for 13 mA."""
    assert read(build, typed).outcome == outcome
    MadeSafe.objects.create(build=build, typed="1", volts=1.0, is_safe=True)
    seen = 0
    for address, text in pages(build):
        shown = [text[m.start() : m.end() + 8] for m in re.finditer(rf"(?<![\d.]){re.escape(typed)}(?!\d)", text)]
        seen += len(shown)
        assert all(re.match(rf"{re.escape(typed)}\s*V\b", one) for one in shown), (address, shown)
    assert seen >= 4


def test_the_letter_of_a_stop_says_volts(build):
    read(build, "13.07")
    send_waiting()
    reported = [f"{letter.subject}\n{letter.body}" for letter in mail.outbox]
    assert reported and all("13.07 V" in text for text in reported if "13.07" in text)
    assert any("13.07 V" in text for text in reported)


def test_the_json_of_a_current_keeps_what_was_typed_and_gives_the_current_in_amps(build):
    read(build, "13.07")
    client = Client()
    client.force_login(build.revision.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    answer = client.get(reverse("reports:json", args=[build.revision.kit.key, build.revision.letter]))
    (row,) = json.loads(b"".join(answer) if answer.streaming else answer.content)["deviations"]
    assert row["outcome"] == "switch off" and row["at_guide_mains"] == pytest.approx(13.07 / 180, rel=1e-3)


@pytest.mark.lengthy
def test_no_paper_shows_a_stop_as_conceded(build):
    """The concession was given for a later reading that is out; the stop before it stays what it was."""
    read(build, "8.19")
    read(build, "450.0", "check-2-2")
    MadeSafe.objects.create(build=build, typed="1", volts=1.0, is_safe=True)
    PowerOn.objects.create(build=build, why="again")
    read(build, "340.0", "check-2-2")
    concede(build, check(build, "check-2-2"), by=None, reason="The prototype reads so.")
    text = dict(pages(build))[reverse("reports:build-record", args=[build.pk])]
    assert text.count("The prototype reads so.") == 1
    stop = text.index("SWITCH OFF")
    assert "The prototype reads so." not in text[stop : stop + 60]


@pytest.mark.parametrize("value", ["450.0", "-450.0", "OL"])
def test_a_stop_on_an_optional_check_stands_like_any_other(value):
    build = make_build(optional=True)
    assert read(build, value, "check-2-2").outcome == "switch off"
    client = Client()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(reverse("bench:build", args=[build.pk])).status_code == 302
    MadeSafe.objects.create(build=build, typed="1", volts=1.0, is_safe=True)
    page = client.get(reverse("bench:check", args=[build.pk, "stage-2", "check-2-1"])).content.decode()
    assert 'name="typed"' not in page
    assert client.post(reverse("bench:finish", args=[build.pk])).status_code == 302
    build.refresh_from_db()
    assert build.finished_at is None
