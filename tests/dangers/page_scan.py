"""Reads a rendered page as a builder would and says what on it plays a stop down or asks for a live reading.

It knows nothing of templates, messages or advice: words, links, buttons and fields only. What the guide itself says
(prose), cautions, what people wrote and what a reading is called in the record are not the site's advice, and are left
out by their elements.
"""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

FORBIDDEN = {
    "en": (
        r"(?<!packing )\bslips?\b",
        r"typing error",
        r"measuring error",
        r"\b(?:measure|measured|read|take|taken|try|type|look|meter)\b(?: \w+){0,2} again\b",
        r"\b(?:second|another) reading\b",
        r"(?<!after a )\bretake\b",  # a reading that was retaken stands in the record
        r"\bclear\b",
        r"(?<!not )\bgo on\b",
        r"(?<!not )(?<!before you )(?<!to )\bcontinue\.",
        r"\bwith the power on\b",
        r"\blive reading\b",
        r"\bneed not switch off\b",
        r"\bfits a good kit\b",
        r"\bmeasure next: ",
        r"\bnext reading: ",
    ),
    "de": (
        r"\bTippfehler",
        r"\bMessfehler",
        r"\bnoch ?(?:ein)?mal\b",
        r"\bnochmals?\b",
        r"\berneut (?:mess|les|ab)",
        r"\bzweite[rn]? (?:Messung|Messwert|Ablesung)",
        r"\b(?:alles )?in Ordnung\b",
        r"\bmit eingeschaltete[rm]\b",
        r"\bbei eingeschaltete[rm]\b",
        r"\bnicht abschalten\b",
        r"\bpass(?:t|en) (?:noch )?zu einem guten Aufbau\b",
        r"\bWeiter so\b",
        r"\bGehen Sie weiter\b",
    ),
}
NOT_OURS = {"prose", "cautions", "quoted", "messages-thread"}  # classes of what the guide or a person says
SILENT = {"script", "style", "template", "title", "option"}
VOID = {"br", "img", "input", "link", "meta", "hr", "col", "source", "wbr", "area", "base", "embed", "param", "track"}
ADVISING = {"button", "next", "causes", "hints", "advice", "verdict", "linkcard", "check-more"}
CHECK = re.compile(r"/builds/(\d+)/stages/([-\w]+)/(?:checks|grid)/([-\w]+)/")
SWITCH = re.compile(r"/builds/(\d+)/stages/([-\w]+)/switch-on/")
STAGE = re.compile(r"/builds/(\d+)/stages/([-\w]+)/(?:grid/)?(?:[?#]|$)")


@dataclass(frozen=True)
class Bench:
    """What may be led to: `powered` stages by key, and the (stage, check) of each standing stop by build."""

    powered: frozenset[str]
    stops: dict[int, frozenset[tuple[str, str]]]
    live: frozenset[int] = frozenset()  # builds switched on again for the check that they stopped at


@dataclass
class Page(HTMLParser):
    """Words, and (address, classes about it) of links and of forms with their fields."""

    words: list[str] = field(default_factory=list)
    links: list[tuple[str, frozenset[str]]] = field(default_factory=list)
    forms: list[tuple[str, list[str]]] = field(default_factory=list)
    stack: list[tuple[str, frozenset[str]]] = field(default_factory=list)

    def __post_init__(self):
        super().__init__(convert_charrefs=True)

    @property
    def about(self) -> frozenset[str]:
        return frozenset().union(*(classes for _tag, classes in self.stack))

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        classes = frozenset((given.get("class") or "").split())
        if tag == "a" and given.get("href") and not any(t == "template" for t, _c in self.stack):
            self.links.append((given["href"], self.about | classes))
        if tag == "form":
            self.forms.append((given.get("action") or "", []))
        if tag in ("input", "textarea", "select") and self.forms and any(t == "form" for t, _c in self.stack):
            self.forms[-1][1].append(f"{given.get('name')}={given.get('value') or ''}")
        spoken = [given[name] for name in ("aria-label", "title", "placeholder", "alt") if given.get(name)]
        self._say(" ".join(spoken), classes)
        if tag not in VOID:
            self.stack.append((tag, classes))

    def handle_endtag(self, tag):
        while self.stack and self.stack.pop()[0] != tag:
            pass

    def handle_data(self, data):
        self._say(data, frozenset())

    def _say(self, text: str, classes) -> None:
        if text.strip() and not (self.about | classes) & NOT_OURS and not any(t in SILENT for t, _c in self.stack):
            self.words.append(" ".join(text.split()))


# The caution about charge that creeps back, and what the demonstration guide says of leads and papers.
HARMLESS = re.compile(
    r"Measure again after a few minutes|Nach einigen Minuten noch einmal messen|"
    r"clear of (?:the can|everything)|photo of the slip|the same points are read again with current flowing",
    re.IGNORECASE,
)


def in_text(text: str, language: str = "en") -> list[str]:
    """Words that have no place around a stop, with what stands about them."""
    text = HARMLESS.sub("…", " ".join(text.split()))
    return [
        f"“{text[max(0, result.start() - 40) : result.end() + 30]}”"
        for pattern in FORBIDDEN[language]
        for result in re.finditer(pattern, text, re.IGNORECASE)
    ]


def in_page(html: str, bench: Bench, language: str = "en") -> list[str]:
    page = Page()
    page.feed(html)
    return [
        *in_text(" ".join(page.words), language),
        *(f"leads to {href}" for href, about in page.links if about & ADVISING and _asks_live(href, bench)),
        *(f"asks in {action} {fields}" for action, fields in page.forms if _takes_live(action, fields, bench)),
    ]


def _asks_live(href: str, bench: Bench) -> bool:
    """A link to live work other than at the check that stopped."""
    if result := CHECK.search(href):
        pk, stage, check = int(result[1]), result[2], result[3]
        return pk in bench.stops and stage in bench.powered and (stage, check) not in bench.stops[pk]
    if result := STAGE.search(href):
        return int(result[1]) in bench.stops and result[2] in bench.powered
    return False


def _takes_live(action: str, fields: list[str], bench: Bench) -> bool:
    """A field for a live reading, or a button that switches on, other than for the check that stopped."""
    if match := SWITCH.search(action):
        pk, stage = int(match[1]), match[2]
        checks = {f.partition("=")[2] for f in fields if f.startswith("check=")}
        return pk in bench.stops and not any((stage, check) in bench.stops[pk] for check in checks)
    match = CHECK.search(action)
    if not match or not any(f.startswith("typed=") for f in fields) or match[2] not in bench.powered:
        return False
    pk, place = int(match[1]), (match[2], match[3])
    return pk in bench.stops and (place not in bench.stops[pk] or pk not in bench.live)
