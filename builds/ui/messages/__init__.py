"""Codes of checks/ and of the site made into sentences, one module an area, each through gettext."""
