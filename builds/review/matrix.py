"""The builds x checks matrix as HTML, by joining strings: six thousand cells are too many for template loops.

Everything that came from a person is escaped here, once for each row and column.
"""
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from builds.bench.models import Build
from builds.guides.models import Stage

_LOOK = {"in band": ("o-in", "✓"), "too close to call": ("o-close", "≈"), "out of band": ("o-out", "✗"),
         "switch off": ("o-off", "⏻")}
_EMPTY = "<td><span><span class=visually-hidden>not yet read</span></span></td>"


def matrix(builds: list[Build], stages: list[Stage], cells: dict[int, dict[int, tuple]]) -> SafeString:
    """A table with stages and checks across and builds down. `cells` is figures.cells_of's.

    Addresses are relative to the dashboard's own, which keeps six thousand links short.
    """
    columns = [check.pk for stage in stages for check in stage.checks.all()]
    rows = "".join(_row(build, columns, cells[build.pk]) for build in builds)
    # Escaped piece by piece above and below.
    return mark_safe(f'<table class="matrix num"><caption class=visually-hidden>Latest reading of each check, in '  # noqa: S308
                     f'half-widths of its band from the middle</caption>{_head(stages)}<tbody>{rows}</tbody></table>')


def _head(stages: list[Stage]) -> str:
    shown = [(stage, list(stage.checks.all())) for stage in stages]
    shown = [(stage, checks) for stage, checks in shown if checks]
    groups = "".join(f"<colgroup span={len(checks)}></colgroup>" for _, checks in shown)
    bands = "".join(_stage_head(stage, len(checks)) for stage, checks in shown)
    heads = "".join(_check_head(stage, check, n) for stage, checks in shown for n, check in enumerate(checks, 1))
    return (f"<colgroup span=1></colgroup>{groups}<thead><tr><th scope=col rowspan=2>Build</th>{bands}</tr>"
            f"<tr>{heads}</tr></thead>")


def _stage_head(stage: Stage, width: int) -> str:
    power = "⏻ power on" if stage.is_powered else "power off"
    return (f'<th scope=colgroup colspan={width} class="stage-band power-{stage.power}">{escape(stage.title)} '
            f"<span class=small>{power}</span></th>")


def _check_head(stage: Stage, check, number: int) -> str:
    title = escape(check.title)
    return (f'<th scope=col><a href="checks/{escape(stage.key)}/{escape(check.key)}/" title="{title}">'
            f"{stage.position}.{number}<span class=visually-hidden> {title}</span></a></th>")


def _row(build: Build, columns: list[int], cells: dict[int, tuple]) -> str:
    start = f"builds/{build.pk}/"
    found = "".join([_cell(start, cells[pk]) if pk in cells else _EMPTY for pk in columns])
    return f'<tr><th scope=row><a href="{start}">{escape(build.serial)}</a></th>{found}</tr>'


def _cell(start: str, facts: tuple) -> str:
    outcome, first, deviation, attempts, passed, reading = facts
    css, symbol = _LOOK.get(outcome, ("o-none", "–"))
    said = shown_deviation(deviation)
    marker, words = "", outcome
    if first != outcome:
        marker, words = "<sup>1</sup>", f"{outcome}, at first {first}"
    if passed and outcome in ("out of band", "too close to call"):
        words += ", passed"
    return (f'<td class={css}><a href="{start}#r{reading}" title="{words}">{symbol} {said}{marker}'
            f"<span class=visually-hidden> {words}</span></a></td>")


def shown_deviation(deviation: float) -> str:
    """One decimal with a true minus sign; past ±99 only the side is worth reading."""
    if deviation != deviation or abs(deviation) > 99:
        return "far low" if deviation < 0 else "far high"
    return f"{deviation:+.1f}".replace("-", "−")
