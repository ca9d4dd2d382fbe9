"""The guide of a revision as one self-contained HTML file: style and pictures are inside it, and nothing runs."""

import base64
import tempfile
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.utils.html import escape, format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from builds.guides.guide_file.write import as_tables
from builds.guides.wiring.drawn import build_schematic
from builds.reports.guide.content import CheckLine, GuideText, StageText, gather, part_text, video_text
from builds.reports.guide.drawings import COLOURS, build_scale, hatches, stopped_ranges
from builds.reports.guide.pictures import print_copies
from builds.ui.drawings.qr import qr_svg
from builds.ui.drawings.schematic import schematic_file, undrawn_sentence
from builds.ui.moments import format_day
from builds.ui.rich_text import to_html
from builds.ui.templatetags.formatting import band_x

STYLES = settings.BASE_DIR / "static" / "guide.css"


def guide_html(revision, language: str = "") -> Iterator[str]:
    """The file in pieces, so that its pictures are never all in memory at once."""
    text = gather(revision, language)
    yield (
        f'<!DOCTYPE html><html lang="{escape(get_language() or "en-GB")}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(revision.name)}</title><style>{STYLES.read_text(encoding='utf-8')}</style></head><body><main>"
    )
    yield from (_cover(text), _cautions(text), _tools(text), _parts(text), _schematic(text))
    with tempfile.TemporaryDirectory() as folder:
        copies = print_copies(text.pictures, Path(folder))
        for stage in text.stages:
            yield from _stage(stage, copies)
    yield _end(text)
    yield "</main></body></html>"


def _data(path: Path) -> str:
    return "data:image/jpeg;base64," + base64.b64encode(path.read_bytes()).decode("ascii")


def _marked(text: str) -> SafeString:
    return mark_safe(to_html(text))  # noqa: S308 - cleaned by rich_text


def _cover(text: GuideText) -> str:
    revision = text.revision
    params = {"letter": revision.letter, "volts": revision.mains_volts, "hertz": revision.mains_hertz}
    links = format_html_join(
        "", '<li><a href="#stage-{}">{}. {}</a></li>', ((s.number, s.number, s.stage.title) for s in text.stages)
    )
    return format_html(
        "<h1>{}</h1><p><strong>{}</strong></p><p>{}</p><p>{}</p>{}<nav><ul>{}</ul></nav>",
        revision.name,
        _("Build guide, revision %(letter)s") % params,
        _("All figures apply at %(volts)d V, %(hertz)d Hz mains.") % params,
        state_text(revision),
        _marked(revision.summary),
        links,
    )


def state_text(revision) -> str:
    if revision.is_draft:
        return _("This is a draft. Do not build from it.")
    return _("Issued on %(day)s.") % {"day": format_day(revision.issued_at)}


def _cautions(text: GuideText) -> str:
    rows = format_html_join("", "<li><strong>{}.</strong> {}</li>", text.cautions)
    local = _("These are the usual cautions. Your local electrical codes and licensed practice come first.")
    return format_html('<h2>{}</h2><ul>{}</ul><p class="small">{}</p>', _("Safety"), rows, local)


def _tools(text: GuideText) -> str:
    rows = format_html_join("", '<li><span class="box"></span> {}</li>', ((tool,) for tool in text.tools))
    return format_html("<h2>{}</h2><ul>{}</ul>", _("Tools"), rows)


def _schematic(text: GuideText) -> str:
    """The drawn schematic, black on white; nothing where it could not be drawn."""
    drawn = build_schematic(as_tables(text.revision, text.guide)["part"])
    if drawn is None:
        return ""
    undrawn = undrawn_sentence(drawn)
    note = format_html("<p>{}</p>", undrawn) if undrawn else ""
    drawing = format_html('<div class="drawing" tabindex="0">{}</div>', schematic_file(drawn, _("Schematic")))
    return format_html("<h2>{}</h2>{}{}", _("Schematic"), drawing, note)


def _parts(text: GuideText) -> str:
    html = format_html("<h2>{}</h2>", _("Parts"))
    for bag, rows in text.bags:
        title = _("Bag %(bag)s") % {"bag": bag} if bag else _("Without a bag")
        lines = format_html_join(
            "",
            '<tr><td><span class="box"></span></td><th scope="row">{}</th>'
            "<td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            ((part.ref, part_text(part), _bands(colours), part.quantity, part.note) for part, colours in rows),
        )
        html += format_html(
            "<h3>{}</h3><table class='parts'><thead>{}</thead><tbody>{}</tbody></table>", title, _parts_head(), lines
        )
    return html


def _parts_head() -> SafeString:
    names = ("", _("Ref"), _("Value and ratings"), _("Bands"), _("Quantity"), _("Note"))
    return _row("th", names)


def _row(tag: str, cells) -> SafeString:
    open_, close = mark_safe(f"<{tag}>"), mark_safe(f"</{tag}>")
    return format_html("<tr>{}</tr>", format_html_join("", "{}{}{}", ((open_, cell, close) for cell in cells)))


def _bands(colours) -> SafeString:
    if not colours:
        return mark_safe("")
    bands = format_html_join(
        "",
        '<rect x="{}" y="2" width="5" height="14" fill="{}" stroke="#b9ad98" stroke-width=".3"/>',
        ((band_x(n), COLOURS[colour]) for n, colour in enumerate(colours)),
    )
    return format_html(
        '<svg viewBox="0 0 70 18" width="70" height="18" role="img" aria-label="{}">'
        '<path d="M0 9H70" stroke="#5a5044"/><rect x="8" y="2" width="54" height="14" rx="4" fill="#d9c7a0"/>{}</svg>',
        ", ".join(colours),
        bands,
    )


def _stage(text: StageText, pictures: dict) -> Iterator[str]:
    stage = text.stage
    power = _("⚡ Mains power on") if stage.is_powered else _("○ Mains power off, unplugged")
    html = format_html(
        '<h2 id="stage-{}">{}. {}</h2><p class="power">{}</p>', text.number, text.number, stage.title, power
    )
    if stage.not_fitted:
        html += format_html(
            "<p>{}</p>", _("Not fitted in this stage: %(refs)s") % {"refs": ", ".join(stage.not_fitted)}
        )
    if stage.is_powered or text.is_recorded:
        cautions = format_html_join("", "<li><strong>{}.</strong> {}</li>", text.cautions)
        html += format_html('<ul class="warn">{}</ul>', cautions)
    html += _marked(stage.intro) + _video(stage.film)
    yield html
    for kind, *rest in text.items:
        yield _step(*rest, pictures) if kind == "step" else _checks(rest[0])
    if stage.gate:
        gate = _("Gate: continue only when every check of this stage is in its band.")
        yield format_html("<p><strong>{}</strong></p>", gate)


def _step(number: int, step, pictures: dict) -> str:
    more = mark_safe("")
    if step.parts:
        more += format_html('<p class="small">{}</p>', _("Parts: %(refs)s") % {"refs": ", ".join(step.parts)})
    if step.hands_in:
        caution = _("Hands inside: switch off, unplug, and measure below 60 V DC first.")
        more += format_html('<p class="small">{}</p>', caution)
    more += _video(step.film)
    if step.picture in pictures:
        more += format_html('<img alt="{}" src="{}">', step.picture, _data(pictures[step.picture][0]))
    return format_html(
        '<div class="step"><span class="box"></span><strong>{}</strong><div>{}{}</div></div>',
        number,
        _marked(step.text),
        more,
    )


def _video(video) -> str:
    if video is None:
        return mark_safe("")
    link = format_html('▶ <a rel="noreferrer" href="{}">{}</a>', video.link, video_text(video))
    return format_html('<p class="small video"><span class="code">{}</span> {}</p>', qr_svg(video.link), link)


def _scale(line: CheckLine) -> str:
    """The band drawn, as in the PDF."""
    scale = build_scale(line.band)
    if scale is None:
        return mark_safe("")
    ticks = [(x, half) for x, half in ((scale.low_x, 12), (scale.high_x, 12), (scale.expected_x, 17)) if x is not None]
    return format_html(
        '<svg class="scale" viewBox="0 0 320 36" aria-hidden="true"><path d="M12 18H308" stroke="currentColor"/>'
        '<rect x="{}" y="12" width="{}" height="12"/>{}{}</svg>',
        f"{scale.band_x:.1f}",
        f"{scale.band_width:.1f}",
        format_html_join("", '<path d="M{} {}V{}" stroke="currentColor" stroke-width="3"/>', _ticks(ticks)),
        format_html_join("", '<path d="M{} 30L{} 6" stroke="currentColor" stroke-width="2"/>', _crossed(scale)),
    )


def _ticks(places):
    return ((f"{x:.1f}", 18 - half, 18 + half) for x, half in places)


def _crossed(scale):
    ends = (pair for start, end in stopped_ranges(scale) for pair in hatches(start, end))
    return ((f"{foot:.1f}", f"{head:.1f}") for foot, head in ends)


def _checks(lines: list[CheckLine]) -> str:
    head = (_("Check"), _("Red – black"), _("Expected"), _("Band"), _("Switch off"), _("Reading"))
    rows = format_html_join(
        "",
        '<tr><th scope="row">{}<br><span class="small">{}</span><div class="note">{}</div></th>'
        '<td data-label="{}">{} – {}</td><td data-label="{}">{}</td><td data-label="{}">{}{}</td>'
        '<td data-label="{}">{}</td><td data-label="{}"></td></tr>',
        (_cells(line, head) for line in lines),
    )
    return format_html('<table class="checks"><thead>{}</thead><tbody>{}</tbody></table>', _row("th", head), rows)


def _cells(c: CheckLine, head) -> tuple:
    """What a row of checks says, each cell with the head it has on a phone."""
    probes, band = (head[1], c.red, c.black), (head[3], c.limits, _scale(c))
    return (c.title, c.measure, _marked(c.note), *probes, head[2], c.expected, *band, head[4], c.stop, head[5])


def _end(text: GuideText) -> str:
    rows = format_html_join("", "<tr><td>{}</td><td></td><td></td></tr>", ((s.stage.title,) for s in text.stages))
    head = _row("th", (_("Stage"), _("Date"), _("Signed")))
    errata = format_html_join(
        "", "<p><strong>{}, {}:</strong> {}</p>", ((e.stage.title, e.about, e.told) for e in text.errata)
    ) or format_html("<p>{}</p>", _("There are no errata at the time of printing."))
    return format_html(
        "<h2>{}</h2><table><thead>{}</thead><tbody>{}</tbody></table><h2>{}</h2><p>{}</p>{}",
        _("Sign-off"),
        head,
        rows,
        _("Revision and errata"),
        state_text(text.revision),
        errata,
    )
