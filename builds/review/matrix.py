"""The builds x checks matrix as HTML, joined from strings: thousands of cells are too many for a template's loop."""
from itertools import groupby

from django.urls import reverse
from django.utils.html import escape
from django.utils.safestring import mark_safe

CLASSES = {"in band": ("o-in", "✓"), "too close to call": ("o-close", "≈"), "out of band": ("o-out", "✗"),
           "switch off": ("o-off", "■")}


def matrix_html(builds, checks, standings, kit: str, letter: str) -> str:
    """A real table: stage bands across the top, a header a build, a cell a check with its deviation in half-bands."""
    bands = "".join(f'<th scope="colgroup" colspan="{len(list(group))}">{escape(title)}</th>'
                    for title, group in groupby(c.stage.title for c in checks))
    page = reverse("review:check", args=[kit, letter, 0])[:-2]
    heads = "".join(f'<th scope="col"><a href="{page}{c.pk}/" title="{escape(c.title)}">{n}'
                    f'<span class="visually-hidden"> {escape(c.title)}</span></a></th>' for n, c in enumerate(checks, 1))
    rows = "".join(_row(build, checks, standings) for build in builds)
    return mark_safe(f'<table class="matrix num"><thead><tr><td></td>{bands}</tr><tr><th scope="col">Build</th>{heads}'  # noqa: S308
                     f"</tr></thead><tbody>{rows}</tbody></table>")


def _row(build, checks, standings) -> str:
    link = reverse("review:build", args=[build.pk])
    cells = "".join(_cell(standings.get((build.pk, c.pk)), link, c.pk) for c in checks)
    who = escape(str(build.builder)) if build.builder else "not taken on"
    return (f'<tr><th scope="row"><a href="{link}">{escape(build.serial)}</a> <span class="muted">{who}</span></th>'
            f"{cells}</tr>")


def _cell(standing, link, check_id) -> str:
    if standing is None:
        return "<td></td>"
    outcome, deviation, attempts, first = standing
    css, symbol = CLASSES[outcome]
    again = "·" if attempts > 1 else ""
    figure = f"{deviation:+.1f}" if abs(deviation) < 10 else f"{deviation:+.0f}"
    words = outcome + (f", first {first}" if first != outcome else "") + (f", {attempts} attempts" if attempts > 1 else "")
    return (f'<td class="{css}"><a href="{link}#check-{check_id}" title="{words}, {figure} half-bands">{symbol}{again}'
            f'<span class="cell-figure">{figure}</span><span class="visually-hidden"> {words}</span></a></td>')
