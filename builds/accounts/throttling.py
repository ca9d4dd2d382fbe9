"""Whose tries are counted: one person, however the name is spelt, from one place."""

from builds.accounts.client_address import counted_address
from builds.accounts.names import name_key
from builds.accounts.seen import has_signed_in_here

KNOWN = "KNOWN BROWSER "  # no name's key has capitals, so that nobody can ask for this count


def make_name(request, credentials) -> str:
    """The name someone tries to sign in with, as sign-in compares names. A browser that they signed in with before has
    a count of its own: a guesser behind the same address does not shut them out."""
    typed = (credentials or {}).get("username") or (request.POST.get("username") if request else "") or ""
    key = name_key(typed)
    return ((KNOWN if request and has_signed_in_here(request, key) else "") + key)[:200]


def find_address(request) -> str | None:
    """None for a proxy's socket, which has no address to be kept."""
    return counted_address(request) or None
