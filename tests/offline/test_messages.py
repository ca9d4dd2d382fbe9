"""What the site says of an entry is for whoever waits for it: never above a stop, or live work, that came after."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import live_bench_of
from tests.offline.test_two_phones import send  # noqa: F401

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.lengthy]
SAFE = "Made safe at"


class Desk:
    """A builder's browser, without scripts."""

    def __init__(self, client, build):
        client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
        self.client, self.build = client, build

    def _address(self, name, *args):
        return reverse(f"bench:{name}", args=[self.build.pk, *args])

    def page(self, name, *args) -> str:
        return self.client.get(self._address(name, *args), follow=True).content.decode()

    def post(self, name, *args, **data):
        answer = self.client.post(self._address(name, *args), data | {"entry_key": uuid4()})
        assert answer.status_code == 302


@pytest.fixture
def desk(client):
    return Desk(client, live_bench_of(timedelta(hours=2)))


def test_made_safe_is_announced_to_whoever_posts_it(desk):
    desk.post("make-safe", typed="2.1")
    assert SAFE in desk.page("build")


def test_made_safe_that_a_phone_sends_later_is_announced_nowhere(desk, send):  # noqa: F811
    assert send(desk.build, "make-safe", ago=600, typed="2.1")
    assert SAFE not in desk.page("build")


def test_made_safe_that_no_page_has_announced_yet_is_not_announced_at_a_stop(desk, send):  # noqa: F811
    desk.post("make-safe", typed="2.1")
    assert send(desk.build, "reading", "stage-2", "check-2-1", ago=0, typed="460")
    page = desk.page("stop")
    assert "Switch off now" in page and SAFE not in page and SAFE not in desk.page("build")


def test_made_safe_that_no_page_has_announced_yet_is_not_announced_once_power_is_on_again(desk):
    desk.post("make-safe", typed="2.1")
    desk.post("switch-on", "stage-2")
    assert SAFE not in desk.page("stage", "stage-2")
