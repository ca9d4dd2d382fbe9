"""Who may call a view. Every view carries one of these marks; a test refuses a view without.

`@anyone` for the public pages, `@signed_in` for all the rest. Which rows a person may see is decided where the row is
fetched (guides.access, bench.access): a stranger gets 404, as if it were not there.
"""

from functools import wraps
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from builds.accounts.events import record

NOTED_BY_THEMSELVES = ("guides:people", "guides:change-person", "guides:withdraw-offer", "review:remove-builder")


READING = ("GET", "HEAD", "OPTIONS")
DONE = (302, 303)  # what a post that did something answers


def _note(request, kwargs) -> None:
    """Into the record of who did what, by the name of the address."""
    match, person = request.resolver_match, request.user
    if match is None or match.view_name in NOTED_BY_THEMSELVES:
        return
    named = {name: str(value) for name, value in kwargs.items() if name != "kit"}
    kit = getattr(person, "acting_on", "") or kwargs.get("kit", "")
    record(person, match.view_name, kit, **{"letter": "", **named})


def anyone(view):
    view.access = "anyone"
    return view


def signed_in(view):
    guarded = login_required(view)
    guarded.access = "signed in"
    return guarded


def may_design(view):
    """Signed in, and either a designer of some kit or allowed to make kits."""

    @wraps(view)
    def asked(request, *args, **kwargs):
        if not request.user.sees_kits:
            raise PermissionDenied(_("Only designers have access to this page."))
        # Whoever only reads a kit is refused where its rows are fetched (guides.access.for_role).
        request.user.is_changing = request.method not in READING
        answer = view(request, *args, **kwargs)
        if request.user.is_changing and answer.status_code in DONE:
            _note(request, kwargs)
        return answer

    guarded: Any = login_required(asked)
    guarded.access = "designers"
    return guarded
