"""One page for whoever has a minute: how the programme stands, what to mend first, and what is not known yet."""

from dataclasses import dataclass

from builds.bench.models import Snag
from builds.reports.words import likely_words
from builds.ui.drawings.share_plot import share_plot
from checks.statistics.findings import FEWEST

FIRST = 6  # findings that fit on the page


@dataclass(frozen=True)
class Headline:
    """A number to be read across a table: what it counts, the figure, and what makes it certain or not."""

    label: str
    figure: str
    small: str


@dataclass(frozen=True)
class Executive:
    sentence: str
    headlines: tuple[Headline, ...]
    mend_first: tuple  # Finding
    more: int
    unknown: str
    yields: object  # Plot or None


def executive(summary) -> Executive:
    """From a gathered fault summary, without asking the database anything."""
    yields = share_plot(
        "Checks right at the first attempt, stage by stage. The line: where the share likely lies.",
        [(s.title, s.first_pass) for s in summary.stages],
    )
    return Executive(
        _sentence(summary),
        tuple(_headlines(summary)),
        summary.findings[:FIRST],
        max(0, len(summary.findings) - FIRST),
        _unknown(summary),
        yields,
    )


def _open(summary) -> list:
    return [f for f in summary.findings if not f.decisions or any(d.state == "deferred" for d in f.decisions)]


def _sentence(summary) -> str:
    if not (summary.under_way or summary.first_pass.n or summary.findings):
        return "No build has begun yet."
    if not summary.findings:
        return "No check was missed and no snag was reported."
    still = _open(summary)
    grave = sum(f.harm == 4 for f in still)
    if grave:
        return (
            f"{_count(grave, 'finding')} with a stop or danger {'waits' if grave == 1 else 'wait'} for your decision: "
            "this guide is not fit to go out."
        )
    if still:
        return (
            f"No stop or danger is left undecided; {_count(len(still), 'finding')} still "
            f"{'waits' if len(still) == 1 else 'wait'}."
        )
    return "Every finding is decided."


def _count(n: int, thing: str) -> str:
    return f"{n} {thing}{'' if n == 1 else 's'}"


def _headlines(summary):
    share, snags = summary.first_pass, {s.pk: s for f in summary.findings for s in f.snags}.values()
    yield Headline(
        "Builds signed off",
        f"{summary.finished} of {len(summary.builds)}",
        f"{summary.under_way} begun, {_count(summary.people, 'builder')}",
    )
    yield (
        Headline(
            "Right at first", f"{share.share:.0%}".replace("%", " %"), f"of {share.n} checks, {likely_words(share)}"
        )
        if share.n
        else Headline("Right at first", "–", "nothing measured yet")
    )
    yield Headline("Findings", f"{len(summary.findings)}", f"{len(_open(summary))} to decide")
    yield Headline(
        "Stops and danger",
        f"{sum(f.harm == 4 for f in summary.findings)}",
        f"{_count(sum(f.stops for f in summary.findings), 'build')} past a stop limit",
    )
    yield Headline("Snags", f"{len(snags)}", f"{sum(s.state == Snag.State.OPEN for s in snags)} without an answer")


def _unknown(summary) -> str:
    """Where there are too few builds to say anything."""
    few = sum(c.summary.n < FEWEST for c in summary.checks)
    unsure = sum(c.summary.n >= FEWEST and c.meaning.kind == "not enough" for c in summary.checks)
    told = [f"{_count(few, 'check')} {'was' if few == 1 else 'were'} read by fewer than {FEWEST} builds"] if few else []
    told += [f"for {_count(unsure, 'check')} the builds do not settle what is wrong"] if unsure else []
    return f"Not known yet: {'; '.join(told)}." if told else ""
