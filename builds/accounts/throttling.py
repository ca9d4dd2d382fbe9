"""Whose tries are counted: one person, however the name is spelt."""

from builds.accounts.names import name_key


def name_of(request, credentials) -> str:
    """The name someone tries to sign in with, as sign-in compares names."""
    typed = (credentials or {}).get("username") or (request.POST.get("username") if request else "") or ""
    return name_key(typed)[:200]
