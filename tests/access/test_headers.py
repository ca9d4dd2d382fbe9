"""A header that is missing or too weak is found; every address of the site is looked at in tests/test_access.py."""

import pytest
from django.http import HttpResponse

from tests.access.headers import faults_of

GOOD = {
    "Content-Type": "image/png",
    "Cache-Control": "private, no-cache",
    "ETag": '"x"',
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
    "Content-Security-Policy": "default-src 'self'; object-src 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Permissions-Policy": "geolocation=()",
    "Referrer-Policy": "same-origin",
}


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({}, None),
        ({"Cache-Control": "private"}, "kept"),
        ({"Cache-Control": "max-age=60"}, "kept"),
        ({"Cache-Control": "public, no-store"}, "shared"),
        ({"ETag": None}, "kept-unnamed"),
        ({"Cross-Origin-Resource-Policy": "cross-origin"}, "embedded"),
        ({"X-Frame-Options": None}, "framed"),
        ({"Content-Security-Policy": GOOD["Content-Security-Policy"] + "; script-src 'unsafe-inline'"}, "scripted"),
        ({"X-Content-Type-Options": None}, "guessed"),
        ({"Permissions-Policy": None}, "sensed"),
        ({"Referrer-Policy": "unsafe-url"}, "named-to-others"),
        ({"Content-Type": "application/pdf"}, "opened-as-page"),
    ],
)
def test_each_header_that_is_missing_or_weaker_is_found(changed, code):
    headers = {name: value for name, value in (GOOD | changed).items() if value is not None}
    assert faults_of(HttpResponse(headers=headers), is_private=True) == ([code] if code else [])
