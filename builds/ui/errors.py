"""Errors of the site's own."""

from checks.errors import ChecksError


class SiteError(ChecksError):
    """Its text is a sentence for people, made with gettext where it is raised. One that is kept in a row takes a code
    and parameters instead (builds/ui/messages/)."""
