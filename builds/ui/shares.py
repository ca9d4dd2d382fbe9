"""Shares of builds as pages and papers write them, with the interval that few builds leave."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext


def format_share(share) -> str:
    """ "9 of 12"."""
    return _("%(count)d of %(total)d") % {"count": share.successes, "total": share.n}


def format_interval(share) -> str:
    """The 95 % interval of a share: "likely 47 to 91 %"."""
    limits = {"low": 100 * share.low, "high": 100 * share.high}
    return _("likely %(low).0f to %(high).0f %%") % limits


def format_yield(share) -> str:
    """A share with its interval: "9 of 12 (likely 47 to 91 %)"; a dash where nothing was counted."""
    return f"{format_share(share)} ({format_interval(share)})" if share.n else "–"


def format_missed_share(share) -> str:
    """How many builds missed a check: "not in band at first in 3 of 12 builds (likely 9 to 53 %)"."""
    counts = {"count": share.successes, "total": share.n, "interval": format_interval(share)}
    text = ngettext(
        "not in band at first in %(count)d of %(total)d build (%(interval)s)",
        "not in band at first in %(count)d of %(total)d builds (%(interval)s)",
        share.n,
    )
    return text % counts if share.n else "–"
