"""Whose tries are counted: one person, however the name is spelt."""

import unicodedata


def name_of(request, credentials) -> str:
    """The name someone tries to sign in with, as sign-in compares names: its case and spaces do not matter."""
    typed = (credentials or {}).get("username") or (request.POST.get("username") if request else "") or ""
    return " ".join(unicodedata.normalize("NFKC", typed).casefold().split())[:200]
