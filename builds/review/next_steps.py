"""What a designer of a revision does next, the most urgent first."""

from dataclasses import dataclass

from django.db.models import Count, Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.bench.models import CheckStatus, Snag
from builds.guides.models import Revision
from builds.review.models import Decision
from builds.review.problems.listing import count_undecided
from builds.review.problems.state import ProblemState


@dataclass(frozen=True)
class NextStep:
    """`code` names it for programs; `title` and `why` are for people, `button` is what its link says."""

    code: str
    title: str
    why: str
    button: str
    address: str


def next_steps(revision: Revision) -> list[NextStep]:
    """At least one step. Six queries at most."""
    addresses = _Addresses(revision)
    if revision.is_draft:
        return [_issue_first(addresses)]
    builds = revision.builds.aggregate(
        made=Count("pk"), taken_on=Count("builder"), begun=Count("pk", filter=Q(started_at__isnull=False))
    )
    if not builds["made"]:
        return [_make_first_build(addresses)]
    steps = [
        *_danger(revision, addresses),
        *_undecided(revision, addresses),
        *_waiting(builds, addresses),
        *_draft(revision, addresses),
    ]
    return steps or [_release(addresses)]


class _Addresses:
    def __init__(self, revision):
        self.revision = revision

    def of(self, name: str, query: str = "") -> str:
        return reverse(name, args=[self.revision.kit.key, self.revision.letter]) + query


def _issue_first(addresses) -> NextStep:
    return NextStep(
        "issue",
        _("Finish this draft and issue it"),
        _("You can make builds only from an issued revision."),
        _("Open the guide"),
        addresses.of("guides:revision"),
    )


def _make_first_build(addresses) -> NextStep:
    return NextStep(
        "first-build",
        _("Make the first build"),
        _("Each build has a serial number and an invitation for its builder. Send the invitation with the kit."),
        _("Make a build"),
        addresses.of("review:builds"),
    )


def _danger(revision, addresses):
    """Stops that stand, and danger that was reported and is not closed."""
    stops = CheckStatus.objects.filter(build__revision=revision, stop__isnull=False).count()
    reported = Snag.objects.own().filter(build__revision=revision, severity=Snag.Severity.DANGER)
    snags = reported.exclude(state=Snag.State.CLOSED).count()
    if stops or snags:
        n = stops + snags
        yield NextStep(
            "danger",
            ngettext("Deal with %(n)s stop or danger report", "Deal with %(n)s stops or danger reports", n) % {"n": n},
            _("A builder may be waiting beside a live kit. Answer these before anything else."),
            _("Show these reports"),
            addresses.of("review:dashboard", "#alarm"),
        )


def _undecided(revision, addresses):
    counts = count_undecided(revision)
    if n := counts[ProblemState.OPEN]:
        yield NextStep(
            "find-causes",
            ngettext("Find the cause of %(n)s problem", "Find the causes of %(n)s problems", n) % {"n": n},
            _("Readings that block a build, and snags without an answer."),
            _("Show these problems"),
            addresses.of("review:problems", "?state=open&now=held"),
        )
    if n := counts[ProblemState.CAUSE_FOUND]:
        yield NextStep(
            "decide",
            ngettext(
                "Decide what to do about %(n)s problem whose cause is known",
                "Decide what to do about %(n)s problems whose causes are known",
                n,
            )
            % {"n": n},
            _("Change the guide, or close them with a reason."),
            _("Open the findings"),
            addresses.of("review:findings"),
        )


def _waiting(builds, addresses):
    n = builds["made"] - builds["taken_on"]
    if n:
        yield NextStep(
            "invitations",
            ngettext("%(n)s build has no builder yet", "%(n)s builds have no builder yet", n) % {"n": n},
            _("Send its invitation, or make a new link if it has expired."),
            _("Show the builds"),
            addresses.of("review:builds"),
        )


def _draft(revision, addresses):
    """The draft that accepted changes wait in."""
    waiting = revision.decisions.filter(state=Decision.State.ACCEPTED, draft__state=Revision.State.DRAFT)
    letters = list(waiting.values_list("draft__letter", flat=True))
    if letters:
        n, letter = len(letters), letters[-1]
        yield NextStep(
            "issue-draft",
            ngettext(
                "%(n)s accepted change waits in draft %(letter)s",
                "%(n)s accepted changes wait in draft %(letter)s",
                n,
            )
            % {"n": n, "letter": letter},
            _("Builders see a change when the draft is issued."),
            _("Review the changes"),
            reverse("review:changes", args=[revision.kit.key, letter]),
        )


def _release(addresses) -> NextStep:
    return NextStep(
        "release",
        _("No problem blocks a build"),
        _("See how far this revision is from release."),
        _("Open the release gate"),
        addresses.of("review:release"),
    )
