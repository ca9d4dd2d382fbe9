"""Bands that the builds propose in sentences: what they promise, what shortens them, and why there is none."""

import math

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.ui.formatting import number
from checks.statistics.normality import GuideShape
from checks.statistics.tolerance import Limit, Proposal, Reason, Withheld


def why_withheld(withheld: Withheld) -> str:
    """Why the builds propose nothing."""
    if withheld.reason == Reason.ALIKE:
        return _("No band can be proposed: all builds read the same, and the accuracy of their meters is not known.")
    if withheld.reason == Reason.ACROSS_ZERO:
        return _("No band is proposed: the builds spread so widely that it would reach across zero.")
    if withheld.reason == Reason.NOT_NORMAL:
        sentence = _(
            "No band is proposed: the %(n)s builds do not follow a normal distribution. They are "
            "skewed, form groups, or include outliers. Look at the chart before you set a band."
        )
        return sentence % {"n": withheld.n}
    if withheld.reason == Reason.OVER_RANGE:
        sentence = _(
            "No band is proposed: %(over)s of %(n)s builds are over range. Find out why before you change the guide."
        )
        return sentence % {"over": withheld.over, "n": withheld.n}
    return {
        Limit.STOP_ABOVE: _(
            "No band is proposed: the builds read at or beyond the stop limit above. Find out why before you change "
            "the guide."
        ),
        Limit.STOP_BELOW: _(
            "No band is proposed: the builds read at or beyond the stop limit below. Find out why before you change "
            "the guide."
        ),
        Limit.RATING: _(
            "No band is proposed: the builds read at or beyond the rating of %(part)s. Find out why before you change "
            "the guide."
        )
        % {"part": withheld.part},
    }[Limit(withheld.limit)]


def find_limit(proposal: Proposal) -> str:
    """What shortens a proposed band; empty where nothing does."""
    if not proposal.limit:
        return ""
    return {
        Limit.STOP_ABOVE: _("the stop limit above"),
        Limit.STOP_BELOW: _("the stop limit below"),
        Limit.RATING: _("the rating of %(part)s") % {"part": proposal.part},
    }[Limit(proposal.limit)]


def basis(proposal: Proposal) -> str:
    """What a proposed band promises, how sure that is, and what it assumes."""
    sentences = [_promised(proposal)] if proposal.is_promised else [_shown(proposal), _why_not_promised(proposal)]
    if proposal.limit:
        sentences.append(_("It is cut off at %(limit)s, so fewer builds may pass.") % {"limit": find_limit(proposal)})
    return " ".join(str(sentence) for sentence in sentences)


def _promised(proposal: Proposal) -> str:
    sentence = ngettext(
        "Proposed from %(n)s builds. With %(confidence)s %% confidence, this band contains at "
        "least %(content)s %% of good builds.",
        "Proposed from %(n)s builds. With %(confidence)s %% confidence, this band contains at "
        "least %(content)s %% of good builds, so that about %(through)s of 100 pass all "
        "%(checks)s checks of the guide.",
        proposal.checks,
    )
    assumption = _("This assumes that good builds follow a normal distribution.")
    return f"{sentence % _figures(proposal)} {assumption}"


def _shown(proposal: Proposal) -> str:
    """What the builds show however they scatter."""
    return _(
        "Proposed from %(n)s builds. They show, with 90 %% confidence, that at least %(shown)s %% of good builds lie "
        "between their lowest and highest reading, and no more."
    ) % _figures(proposal)


def _why_not_promised(proposal: Proposal) -> str:
    if proposal.guide == GuideShape.NOT_NORMAL:
        return _(
            "The readings of this guide do not follow a normal distribution, so it is not known how many good builds "
            "this band contains."
        )
    return _(
        "The band is as wide as a normal distribution needs for %(content)s %% of good builds. "
        "These builds are too few to show that they follow one; if they are skewed or include "
        "outliers, the band contains fewer."
    ) % _figures(proposal)


def _figures(proposal: Proposal) -> dict:
    return {
        "n": proposal.n,
        "through": f"{100 * proposal.through:.0f}",
        "checks": proposal.checks,
        "content": _share(proposal.content),
        "shown": f"{math.floor(100 * proposal.content_shown)}",
        "confidence": f"{100 * proposal.confidence:.0f}",
    }


def _share(content: float) -> str:
    """Per cent with as many places as keep it below 100."""
    return number(min(99.9, 100 * content), 1)
