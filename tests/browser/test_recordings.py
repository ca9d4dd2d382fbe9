"""Recordings in a browser: a builder sends one and reads the verdict; a designer goes from a folder to the sheet."""

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import soundfile
from django.urls import reverse
from playwright.sync_api import expect
from pypdf import PdfReader

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Reading, Recording
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Revision
from checks.tone.sources import Signal, SignalPlan, make_signal
from tests import factories
from tests.browser.test_first_screen import sign_in
from tests.browser.test_story import PATIENCE, accessible, cleared_though_frozen  # noqa: F401
from tests.builds.bench.test_figures import GUIDE, tone

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def build():
    revision = store_guide(read_guide(GUIDE), factories.make_designer())
    Revision.objects.filter(pk=revision.pk).update(state=Revision.State.ISSUED)
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    acknowledge(open_sitting(build), build.revision.stages.get(), None)
    return build


@pytest.fixture
def page(browser):
    page = browser.new_context(viewport={"width": 390, "height": 800}).new_page()
    page.set_default_timeout(PATIENCE)
    return page


def written(folder: Path, name: str, samples) -> str:
    soundfile.write(folder / name, samples, 48_000, subtype="PCM_24")
    return str(folder / name)


def hum():
    time = np.arange(48_000 * 5) / 48_000
    return 1e-3 * np.sin(2 * np.pi * 100 * time) + 1e-6 * np.random.default_rng(1).standard_normal(len(time))


@pytest.mark.lengthy
def test_a_builder_sends_a_recording_and_reads_the_verdict(page, live_server, build, tmp_path):
    sign_in(page, live_server.url, build.builder)
    page.goto(live_server.url + reverse("bench:recordings", args=[build.pk, "sign-off"]))
    accessible(page)
    card = page.locator("#signal-1")
    card.locator("[type=file]").set_input_files(written(tmp_path, "take.wav", tone()))
    card.locator("[name=meter_volts]").fill("2.83")
    with page.expect_navigation():
        card.locator("button").click()
    expect(page.locator("#results table").first).to_contain_text("1.0")
    expect(page.locator("#results svg").first).to_be_visible()
    assert page.evaluate("scrollY") == 0
    for said in page.locator("#answers .chip").all():
        expect(said).to_contain_text("in band")
        expect(said).to_be_in_viewport(ratio=1)
    expect(page.locator("#answers .chip")).to_have_count(2)
    expect(page.locator("#results .actions .button").first).to_be_in_viewport(ratio=1)
    accessible(page)
    page.goto(live_server.url + reverse("bench:check", args=[build.pk, "sign-off", "thd"]))
    expect(page.locator("#verdict .chip").first).to_contain_text("in band")
    assert Reading.objects.filter(check_row__key__in=("thd", "volts")).count() == 2


@pytest.mark.lengthy
def test_a_designer_goes_from_a_folder_of_recordings_to_the_printed_sheet(page, live_server, build, tmp_path):
    sweep = 0.3 * make_signal(SignalPlan(Signal.SWEEP, hertz=(8.0, 22_000.0), seconds=2.0))
    files = [
        written(tmp_path, f"{build.serial} 3.wav", hum()),
        written(tmp_path, f"{build.serial} 1.wav", tone()),
        written(tmp_path, f"{build.serial} 2.wav", sweep),  # this guide asks for no sweep
    ]
    sign_in(page, live_server.url, build.revision.kit.designers.get())
    kit = build.revision.kit.key
    page.goto(live_server.url + reverse("review:recordings", args=[kit, "A"]))
    page.click("details.card summary")
    page.set_input_files("[name=files]", files)
    page.fill("[name=meter_volts]", "2.83")
    with page.expect_navigation():
        page.click("form[action$='recordings/add/'] button")
    assert Recording.objects.count() == 2
    expect(page.locator("[role=status] strong")).to_have_count(1)
    accessible(page)
    page.select_option("#reference", label=build.serial)
    with page.expect_navigation():
        page.click("form[action$='reference/'] button")
    page.goto(live_server.url + reverse("reports:specification", args=[kit, "A"]))
    accessible(page)
    with page.expect_download() as download:
        page.click("text=PDF")
    text = "".join(p.extract_text() for p in PdfReader(BytesIO(Path(download.value.path()).read_bytes())).pages)
    for title in ("Distortion at 1 kHz", "Output while recorded", "Hum", build.serial):
        assert title in text
