"""Who may call a view. Every view carries one of these marks; a test refuses a view without.

`@anyone` for the public pages, `@signed_in` for all the rest. Which rows a person may see is decided where the row is
fetched (guides.access, bench.access): a stranger gets 404, as if it were not there.
"""

from functools import wraps

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _


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
        if not (request.user.may_design or request.user.kits.exists()):
            raise PermissionDenied(_("Only designers have access to this page."))
        return view(request, *args, **kwargs)

    guarded = login_required(asked)
    guarded.access = "designers"
    return guarded
