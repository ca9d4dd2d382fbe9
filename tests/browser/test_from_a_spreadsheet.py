"""A kit made through the real pages from a CSV and a word processor's document, to an issued revision."""

import pytest

from builds.accounts.models import Person
from builds.guides.models import Revision
from tests.browser.authoring import Counted, make_kit
from tests.clearing import clear_though_frozen
from tests.factories import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MOST_CLICKS, MOST_KEYS = 60, 600


@pytest.fixture(autouse=True)
def cleared_though_frozen(transactional_db, live_server):
    yield
    clear_though_frozen()


@pytest.mark.lengthy
def test_a_kit_goes_from_a_spreadsheet_and_a_document_to_an_issued_revision(browser, live_server, tmp_path):
    Person.objects.create_person("The designer", PASSWORD, may_design=True)
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    page.set_default_timeout(40_000)
    page.goto(live_server.url + "/sign-in/")
    page.fill("[name=username]", "The designer")
    page.fill("[name=password]", PASSWORD)
    with page.expect_navigation():
        page.click("main button")
    hand = Counted(page)
    make_kit(hand, live_server.url, tmp_path)
    revision = Revision.objects.get(kit__key="line-stage")
    assert revision.state == Revision.State.ISSUED
    assert (revision.parts.count(), revision.stages.count()) == (25, 4)
    checks = [check for stage in revision.stages.all() for check in stage.checks.all()]
    assert len(checks) == 14 and revision.pictures.count() == 1
    assert sum(check.expected == "model" for check in checks) == 11
    assert hand.clicks <= MOST_CLICKS and hand.keys <= MOST_KEYS, (hand.clicks, hand.keys)
