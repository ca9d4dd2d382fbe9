"""A phone whose clock is set between making an entry and sending it: the entry is dated when it was made, and never so
that a good reading comes after a bad one."""

from datetime import timedelta

import pytest
from django.utils import timezone

from builds.bench.models import Reading
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import Phone, make_bench

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
HOUR, DAY = 3600, 86400  # s
SETTABLE = "const real = Date.now; Date.now = () => real() + Number(localStorage.getItem('set') || 0);"
AGE = """async ([made, contact, set, code]) => {
  const clock = await import("/static/offline/clock.js"), store = await import("/static/offline/store.js");
  const now = Date.now(), site = now + 5000; // the site's clock differs a little
  await store.note("clock", { site, phone: now });
  const then = contact === null ? null : { site: site - 1000 * contact, phone: now - 1000 * (contact + set) };
  return clock.ageOf({ made: now - 1000 * made, clock: then, code });
}"""
# How long ago by the phone's clock as it is now it was made; how long ago the site was last heard before that; how far
# the clock was set forward since then, all in s; the phone's verdict; and how long ago it was made.
CASES = [
    (300, 600, 0, "i", 300),
    (300, 600, 40, "o", 300),  # within what clocks and lines are off
    (300 + DAY, 600, DAY, "i", 300),  # set forward after it was made
    (300 - DAY, 600, -DAY, "i", 300),  # set back after it was made
    (300, 600, DAY, "i", 300),  # set forward before it was made
    (300, 600, -DAY, "o", 300),
    (3 * HOUR, 10 * HOUR, 2 * HOUR, "o", HOUR),  # set before or after: the careful one of two
    (3 * HOUR, 10 * HOUR, 2 * HOUR, "x", HOUR),
    (3 * HOUR, 10 * HOUR, 2 * HOUR, "i", 3 * HOUR),
    (3 * HOUR, 10 * HOUR, 2 * HOUR, "", 3 * HOUR),
    (9 * DAY, 600, 3 * DAY, "o", 0),  # set more than once: since the site was last heard
    (9 * DAY, 600, 3 * DAY, "i", 600),
    (300, None, 0, "i", 300),  # the site was never heard
    (-300, None, 0, "i", 0),
]


@pytest.mark.lengthy
def test_an_entry_is_as_old_as_the_clock_of_the_site_shows(browser, live_server):
    build = make_bench()
    phone = Phone(browser, live_server.url, build.builder, service_workers="block")
    phone.open(build)
    ages = [phone.page.evaluate(AGE, case[:4]) for case in CASES]
    assert [round(age, -2) for age in ages] == [round(case[4], -2) for case in CASES]
    phone.context.close()


@pytest.mark.lengthy
@pytest.mark.parametrize("set_by", [DAY, -DAY])
def test_a_clock_set_without_a_connection_dates_no_reading_wrongly(browser, live_server, set_by):
    build = make_bench()
    phone = Phone(browser, live_server.url, build.builder, script=SETTABLE)
    phone.open(build)
    phone.ready(build)
    phone.until("import('/static/offline/clock.js').then((clock) => clock.lastClock()).then(Boolean)")
    phone.open(build, "stages/stage-1/checks/check-1-1/")
    phone.cut()
    began = timezone.now()
    phone.page.fill("input.reading", "251")
    phone.page.click(".save:visible")
    phone.settled()
    phone.page.evaluate("(ms) => localStorage.setItem('set', ms)", 1000 * set_by)
    phone.page.wait_for_timeout(2500)  # a reading dated by its arrival is that much later
    phone.cut(False)
    phone.reload()
    phone.sends_all()
    assert abs(Reading.objects.get().at - began) < timedelta(seconds=2.4), Reading.objects.get().at - began
    phone.context.close()
