"""Forms that the outbox does not keep: what was typed or chosen is never lost to a bad line, and never sent twice."""

from unittest.mock import Mock

import pytest
from django.contrib.sessions.models import Session
from django.core.exceptions import PermissionDenied
from playwright.sync_api import expect

from builds.bench.models import Message, Reading, Snag
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.factories import PASSWORD
from tests.offline.bench import READY, Phone, make_bench
from tests.offline.line import BEFORE, SENT, bad_line

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WORDS = "It was in the other bag"


@pytest.fixture
def at_the_bench(browser, live_server):
    """A build on a phone; its line is cut at each post for which `cuts` has a moment."""
    phones, cuts = [], []
    where = live_server.url.removeprefix("http://").split(":")
    with bad_line(where[0], int(where[1]), lambda: cuts.pop(0) if cuts else None) as line:

        def begin(**fields):
            build = make_bench(**fields)
            phones.append(Phone(browser, line.address, build.builder))
            phones[-1].open(build)
            phones[-1].ready(build)
            return build, phones[-1], cuts

        yield begin
        for phone in phones:
            assert phone.said == []
            phone.context.close()


def write(phone, build):
    stage = build.revision.stages.get(key="stage-1")
    snag = Snag.objects.create(build=build, stage=stage, kind="other", severity="slowed", words="R2 is missing")
    phone.open(build, f"snags/{snag.pk}/")
    phone.page.fill("main textarea", WORDS)
    phone.page.evaluate("document.body.dataset.old = 'yes'")


def send(phone):
    phone.page.locator("main form:has(textarea) > button").click()


def sent(phone):
    expect(phone.page.locator("main").get_by_text(WORDS)).to_be_visible()
    expect(phone.page.locator("body:not([data-old])")).to_be_visible()
    phone.until(READY)
    expect(phone.page.locator("main textarea")).to_have_value("")
    expect(phone.page.locator(".draft-note")).to_have_count(0)
    assert Message.objects.get().words == WORDS


def comes_back(phone):
    phone.page.click(".notice.warn a")
    expect(phone.page.locator("main textarea")).to_have_value(WORDS)
    expect(phone.page.locator(".draft-note")).to_be_visible()
    phone.until(READY)


@pytest.mark.lengthy
def test_a_form_without_a_connection_stays_as_it_was_typed(at_the_bench):
    build, phone, _cuts = at_the_bench()
    write(phone, build)
    phone.cut()
    send(phone)
    expect(phone.page.locator("main form .not-sent")).to_be_visible()
    expect(phone.page.locator("main textarea")).to_have_value(WORDS)
    assert not Message.objects.exists()
    phone.cut(False)
    send(phone)
    sent(phone)


@pytest.mark.lengthy
@pytest.mark.parametrize("trouble", ["cut before", "answer lost", "broken", "refused"])
def test_what_a_form_sent_without_an_answer_comes_back_and_is_added_once(at_the_bench, monkeypatch, trouble):
    build, phone, cuts = at_the_bench()
    write(phone, build)
    with monkeypatch.context() as during:
        if trouble == "broken":
            during.setattr("builds.bench.forms.add_message", lambda *_fields: 1 / 0)
        elif trouble == "refused":  # its page is that of what is too large, which the test's server cannot answer
            during.setattr("builds.bench.forms.add_message", Mock(side_effect=PermissionDenied))
        else:
            cuts.extend([BEFORE if trouble == "cut before" else SENT] * 9)  # a browser tries again by itself
        send(phone)
        expect(phone.page.locator(".notice.warn a")).to_be_visible()
        cuts.clear()
    assert Message.objects.count() == (trouble == "answer lost")
    comes_back(phone)
    phone.page.evaluate("document.body.dataset.old = 'yes'")
    send(phone)
    sent(phone)


@pytest.mark.lengthy
def test_a_session_that_ended_gives_a_form_back_after_signing_in(at_the_bench):
    build, phone, _cuts = at_the_bench()
    write(phone, build)
    Session.objects.all().delete()
    send(phone)
    phone.page.click("main form .not-sent a")
    phone.page.fill("[name=username]", build.builder.display_name)
    phone.page.fill("[name=password]", PASSWORD)
    phone.page.click("main button")
    expect(phone.page.locator("main textarea")).to_have_value(WORDS)
    expect(phone.page.locator(".draft-note")).to_be_visible()
    assert not Message.objects.exists()


@pytest.mark.lengthy
def test_chosen_boxes_stay_while_something_else_is_sent(at_the_bench):
    build, phone, _cuts = at_the_bench(fast_track=True)
    phone.open(build, "stages/stage-1/grid/")
    phone.cut()
    field = phone.page.locator("input.reading:visible").first
    field.fill("301")
    field.press("Enter")
    expect(phone.page.locator(".kept").first).to_be_visible()
    box = phone.page.locator("#step-step-1-1 input")
    box.check()
    phone.page.evaluate("document.body.dataset.same = 'yes'")
    phone.cut(False)
    phone.sends_all()
    phone.settled()
    assert Reading.objects.count() == 1
    expect(box).to_be_checked()
    assert phone.page.evaluate("document.body.dataset.same") == "yes"


@pytest.mark.lengthy
def test_a_step_that_was_saved_is_done_though_the_next_one_was_not_sent(at_the_bench):
    """The line breaks between two steps ticked together: left open, the first would be ticked a second time."""
    build, phone, cuts = at_the_bench(fast_track=True)
    phone.open(build, "stages/stage-1/grid/")
    for step in ("step-1-1", "step-1-2"):
        phone.page.check(f"#step-{step} input")
    cuts.extend([None] + [BEFORE] * 9)
    phone.page.click(".fast-steps ~ p button")
    expect(phone.page.locator("#step-step-1-2 .not-sent")).to_be_visible()
    expect(phone.page.locator("#step-step-1-1 input")).to_be_disabled()
    expect(phone.page.locator("#step-step-1-1 .not-sent")).to_have_count(0)
    cuts.clear()
