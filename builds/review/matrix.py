"""The builds x checks matrix as HTML, joined from strings: thousands of cells are too many for a template's loop.

What a cell is made of is translated once a page; the markup of each kind of cell is a line of its own below.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from django.urls import reverse
from django.utils.html import escape
from django.utils.safestring import mark_safe
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from builds.review.matrix_columns import Column, list_columns
from builds.ui.formatting import signed_number
from builds.ui.messages.outcomes import STYLES, outcome_label
from checks.outcomes import Outcome

TABLE = '<table class="matrix num{size}"><thead>{bands}{heads}</thead><tbody>{rows}</tbody></table>'
BAND = '<th scope="colgroup" colspan="{span}" id="in-{stage}"{slim}><span>{title}</span></th>'
HEAD = '<th scope="col"><a href="{page}" title="{title}">{title}</a></th>'
ROW = (
    '<tr><th scope="row"><a href="{link}">{serial}</a> <span class="muted">{who}</span>'
    '<span class="muted in-list"> {progress}</span></th>{cells}</tr>'
)
TICK = '<td class="o-in" title="{figure}">✓<span class="visually-hidden"> {outcome}</span></td>'
CELL = (
    '<td class="{css}{later}"><a data-check="{name}" href="{link}?check={check}#check-{check}" title="{title}">'
    '{symbol}{dot}{shown}<span class="visually-hidden"> {label}</span></a></td>'
)
FIGURE = '<span class="cell-figure">{figure}</span>'
FOLDED_HEAD = '<th scope="col" class="folded"><a href="?stage={stage}&amp;columns=all" title="{title}">{title}</a></th>'
FOLDED = (
    '<td class="folded"><span title="{progress}">{shown}<span class="visually-hidden"> {progress}</span></span></td>'
)
MORE = '<td class="in-list more"><a href="{link}">{text}</a></td>'
NOTHING = "<td></td>"
SLIM = 2  # columns
LISTED = 3  # readings not in band that a build's line on a phone names; the rest are on the build's page
FEW = 14  # columns, so few that the table fills the page and its heads need not stand upright


@dataclass(frozen=True)
class _CellTexts:
    """The translated parts of cells."""

    first: str
    title: str
    in_band: str
    more: str

    @classmethod
    def now(cls) -> "_CellTexts":
        return cls(
            _("%(outcome)s, at first %(first)s"),
            _("%(label)s, %(figure)s band half-widths from the middle"),
            _("%(done)s of %(n)s in band"),
            _("%(n)s more not in band"),
        )


def matrix_html(builds, checks, statuses, kit: str, letter: str, figures: bool = False, fold: bool = False) -> str:
    """A real table: stage bands across the top, a header a build, a cell a check.

    A cell that was in band at the first attempt is a narrow tick, so that what is off stands out and most checks fit on
    a screen; any other has its deviation (the band's middle is 0, its limit 1) and leads to its readings. `figures`:
    every cell has. `fold`: the checks of a stage that no build missed share one column.
    """
    page = reverse("review:check", args=[kit, letter, 0])[:-2]
    columns = list_columns(checks, statuses, fold)
    heads = "".join(_head(column, page) for column in columns)
    texts, build_label = _CellTexts.now(), escape(_("Build"))
    html = TABLE.format(
        size=" few" if len(columns) <= FEW else "",
        bands=f"<tr><td></td>{_bands(columns)}</tr>",
        heads=f'<tr class="upright"><th scope="col">{build_label}</th>{heads}</tr>',
        rows="".join(_row(build, columns, statuses, figures, texts) for build in builds),
    )
    return mark_safe(html)  # noqa: S308


def _head(column: Column, page: str) -> str:
    if column.check:
        return HEAD.format(page=f"{page}{column.check.pk}/", title=escape(column.check.title))
    n = len(column.checks)
    title = ngettext("%(n)s check without problems", "%(n)s checks without problems", n) % {"n": n}
    return FOLDED_HEAD.format(stage=column.stage.key, title=escape(title))


def _bands(columns) -> str:
    """A band of one or two narrow columns has its title upright."""
    groups = [(key, len(list(group))) for key, group in groupby((c.stage.pk, c.stage.title) for c in columns)]
    return "".join(
        BAND.format(
            span=span,
            stage=pk,
            title=escape(title),
            slim=' class="slim"' if span <= SLIM and len(columns) > FEW else "",
        )
        for (pk, title), span in groups
    )


def stages_off(checks, statuses) -> list[tuple]:
    """[(stage, cells whose last reading is not in band)], in the guide's order: where to jump to in the matrix."""
    stages = {c.pk: c.stage_id for c in checks}
    off: dict[int, int] = {}
    for (_build, check), status in statuses.items():
        if status[0] != Outcome.IN_BAND and check in stages:
            off[stages[check]] = off.get(stages[check], 0) + 1
    return [(stage, off.get(stage.pk, 0)) for stage in {c.stage_id: c.stage for c in checks}.values()]


def format_deviation(deviation: float) -> str:
    """A deviation with one decimal (none from 10 up), a true minus, and no sign on nothing: "−2.3", "+12", "0.0"."""
    return _tenths(round(10 * deviation), get_language())


@lru_cache(4096)
def _tenths(tenths: int, _language: str | None) -> str:
    return signed_number(tenths / 10, 1 if abs(tenths) < 100 else 0)


@lru_cache(4096)
def _tick(tenths: int, language: str | None) -> str:
    """Most cells are this one, so its few forms are kept."""
    return TICK.format(figure=_tenths(tenths, language), outcome=escape(outcome_label(Outcome.IN_BAND)))


def _row(build, columns, statuses, figures, texts) -> str:
    link = reverse("review:build", args=[build.pk])
    cells, off = [], 0
    for c in columns:
        status = statuses.get((build.pk, c.check.pk)) if c.check else None
        is_off = status is not None and status[0] != Outcome.IN_BAND
        off += is_off
        cells.append(
            _cell(status, link, c.check, figures, texts, is_later=is_off and off > LISTED)
            if c.check
            else _folded(_in_band(build, c, statuses), len(c.checks), texts)
        )
    if off > LISTED:
        cells.append(MORE.format(link=link, text=escape(texts.more % {"n": off - LISTED})))
    who = escape(str(build.builder)) if build.builder else escape(_("no builder yet"))
    done, n = sum(_in_band(build, c, statuses) for c in columns), sum(len(c.checks) for c in columns)
    progress = escape(texts.in_band % {"done": done, "n": n})
    return ROW.format(link=link, serial=escape(build.serial), who=who, progress=progress, cells="".join(cells))


def _in_band(build, column: Column, statuses) -> int:
    states = (statuses.get((build.pk, check.pk)) for check in column.checks)
    return sum(status is not None and status[0] == Outcome.IN_BAND for status in states)


def _cell(status, link, check, figures, texts, is_later=False) -> str:
    if status is None:
        return NOTHING
    outcome, deviation, attempts, first = status
    if outcome == Outcome.IN_BAND and attempts == 1 and not figures:
        return _tick(round(10 * deviation), get_language())
    style = STYLES[outcome]
    figure, label = format_deviation(deviation), _label(outcome, first, attempts, texts)
    return CELL.format(
        css=style.css,
        later=" later" if is_later else "",
        name=escape(check.title),
        link=link,
        check=check.pk,
        title=escape(texts.title % {"label": label, "figure": figure}),
        symbol=style.symbol,
        dot="·" if attempts > 1 else "",
        shown=FIGURE.format(figure=figure) if figures or outcome != Outcome.IN_BAND else "",
        label=escape(label),
    )


def _folded(done: int, n: int, texts) -> str:
    """How many of a column's checks are in band; the others are not read yet."""
    if not done:
        return NOTHING
    return FOLDED.format(
        progress=escape(texts.in_band % {"done": done, "n": n}), shown="✓" if done == n else f"{done}/{n}"
    )


def _label(outcome, first, attempts, texts) -> str:
    """What a cell says to those who hear it."""
    label = outcome_label(outcome)
    if first != outcome:
        label = texts.first % {"outcome": label, "first": outcome_label(first)}
    if attempts > 1:
        tries = ngettext("%(n)s attempt", "%(n)s attempts", attempts) % {"n": attempts}
        label = f"{label}, {tries}"
    return label
