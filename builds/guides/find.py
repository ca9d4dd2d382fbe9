"""Finding a step, a check or a part of the build's guide by words: a reference, a pin, a value, a colour."""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

from builds.guides.alternatives import permitted_types
from builds.guides.guide_cache import Guide
from builds.guides.models import Check, Part, Stage, Step
from builds.ui.drawings.printed_codes import printed_codes
from builds.ui.drawings.resistor import list_colours
from builds.ui.messages.colours import colour_name
from builds.ui.rich_text import to_text
from checks.errors import ChecksError
from checks.quantity import parse_quantity

WORD = re.compile(r"[\w.+µμΩ]+")
MOST = 60  # hits shown; more than that is no answer


class Kind(StrEnum):
    STEP = "step"
    CHECK = "check"
    PART = "part"


@dataclass(frozen=True)
class Hit:
    """A place in the guide. `stage` is None for a part that no step names."""

    kind: Kind
    row: Step | Check | Part
    text: str
    stage: Stage | None = None
    number: int | None = None
    colours: tuple[str, ...] = ()
    step: Step | None = None  # the one that is found, or that fits the part

    @property
    def film(self):
        """The moment in a video that shows it: the step's, else the part's own, else the stage's."""
        own = self.row.film if isinstance(self.row, Part) else None
        films = (self.step and self.step.film, own, self.stage and self.stage.film)
        return next((film for film in films if film), None)


def search_words(text: str) -> list[str]:
    """The words of a text as they are compared: small letters, no accents, no full stop at the end."""
    plain = unicodedata.normalize("NFKD", str(text).casefold())
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    return [word for word in (raw.strip(".") for raw in WORD.findall(plain)) if word]


def find(guide: Guide, query: str) -> list[Hit]:
    """Everything of the guide in which every word of the query stands, steps and checks in the guide's order."""
    searched = search_words(query)[:12]
    if not searched:
        return []
    hits = [
        hit
        for hit, entry_words, parts in _entries(guide)
        if all(_matches(word, entry_words, parts) for word in searched)
    ]
    in_row = " ".join(searched)
    return sorted(hits, key=lambda hit: not _has_row(hit, in_row))[:MOST]


def _has_row(hit: Hit, in_row: str) -> bool:
    """Do its colours stand in the order asked for? brown, grey, red is not red, grey, brown."""
    colours = " ".join(search_words(" ".join(map(colour_name, hit.colours))))
    return bool(hit.colours) and (in_row in colours or in_row in " ".join(hit.colours))


def _entries(guide: Guide):
    """(hit, its words, the parts it is about) of each step, check and part."""
    first_step: dict[str, tuple] = {}
    for stage in guide.stages:
        numbers = {step.pk: n for n, step in enumerate(stage.steps.all(), 1)}
        for item in stage.items:
            if isinstance(item, Check):
                yield _check_entry(guide, stage, item)
                continue
            parts = [guide.parts[ref] for ref in item.parts if ref in guide.parts]
            for part in parts:
                first_step.setdefault(part.ref, (stage, numbers[item.pk], item))
            text = to_text(item.text)
            entry_words = search_words(" ".join([text, *item.parts, *(p.value for p in parts)]))
            hit = Hit(Kind.STEP, item, text, stage, numbers[item.pk], _only(parts), item)
            yield hit, _with_colours(entry_words, parts), parts
    for part in guide.parts.values():
        stage, number, step = first_step.get(part.ref, (None, None, None))
        detail = [str(part.detail.get("base", "")), *permitted_types(part), *printed_codes(part)]
        entry_words = search_words(
            " ".join([part.ref, part.kind, part.value, part.tolerance, part.bag, part.note, *detail])
        )
        yield (
            Hit(Kind.PART, part, part.ref, stage, number, list_colours(part), step),
            _with_colours(entry_words, [part]),
            [part],
        )


def _check_entry(guide: Guide, stage: Stage, check: Check):
    red, black = guide.probes.pair(check)
    text = " ".join(
        [check.title, to_text(check.note), check.through, *(f"{p.location} {p.base}" for p in (red, black))]
    )
    return Hit(Kind.CHECK, check, check.title, stage), search_words(text), []


def _only(parts) -> tuple[str, ...]:
    return list_colours(parts[0]) if len(parts) == 1 else ()


def _with_colours(entry_words: list[str], parts) -> list[str]:
    names = [name for part in parts for name in list_colours(part)]
    return entry_words + names + search_words(" ".join(map(colour_name, names)))


def _matches(query_word: str, entry_words: list[str], parts) -> bool:
    """A word with a digit stands for itself (R1 is not R10); others may be the beginning of one. A value is found
    however it is written: 1k5 is 1.5k."""
    if any(c.isdigit() for c in query_word):
        return query_word in entry_words or any(_same_value(query_word, part.value) for part in parts)
    return any(word.startswith(query_word) for word in entry_words)


def _same_value(query_word: str, value: str) -> bool:
    """Do both say one figure? The query is in small letters, so M and m cannot be told apart: both are tried."""
    if not value:
        return False
    meant = _figure(value)
    return meant is not None and any(
        _figure(text) == meant for text in (query_word, query_word.upper(), query_word.replace("m", "M"))
    )


def _figure(text: str) -> float | None:
    for unit in ("Ω", "F", "V"):
        try:
            return parse_quantity(text, unit).value
        except ChecksError:
            continue
    return None
