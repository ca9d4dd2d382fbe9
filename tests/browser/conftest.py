"""Links that the site writes lead to the server of the test."""

import pytest


@pytest.fixture(autouse=True)
def links_to_the_test_server(request, settings):
    if "live_server" in request.fixturenames:
        settings.SITE_URL = request.getfixturevalue("live_server").url
