"""Addresses of the site as they stand in mail and on paper: by its configured address, never by what a request says."""

from django.conf import settings
from django.urls import reverse


def site(path: str) -> str:
    return settings.SITE_URL + path


def invitation_link(token: str) -> str:
    return site(reverse("accounts:invitation", args=[token]))
