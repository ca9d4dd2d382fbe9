"""Headings, numbers and tick boxes that somebody typed, where a word processor has styles and lists for them."""

import re
from itertools import pairwise

from builds.guides.text_import.outline import Outline, Piece

STAGE = re.compile(
    r"(?:stage|step group|part|chapter|section|stufe|abschnitt|kapitel|teil)\s+\d{1,2}\s*[:.–—-]\s*\S.*", re.IGNORECASE
)
_BOLD = re.compile(r"\*{2,3}([^*\n]{3,80}?)[\s:]*\*{2,3}")
_NUMBERED = re.compile(r"(\d{1,2})(?:\\?[.)])?\s+([^\W\d_][^\n]{2,60})")
_SENTENCE = re.compile(r"[.!?;,]$")
_WORD = r"(?:(?:step|schritt|étape|punkt)\s+(?:no\.?\s*|nr\.?\s*)?)"
_BOX = re.compile(r"(?:\\?\[[\sxX]{0,3}\\?\]|\(\s{1,3}\)|[☐□❏❑◻▢]|_{2,6}|(?:\\_){2,6})\s*")
_NUMBER = re.compile(
    rf"\(?\d{{1,3}}[a-z]?(?:\\?[.)])\s+(?=\S)|\(?[a-z]\\?\)\s+(?=\S)|"
    rf"{_WORD}\d{{1,3}}\s*(?:\\?[.:)]|[–—-])?\s+(?=\S)",
    re.IGNORECASE,
)
_IN_STAGE = re.compile(r"(\d{1,2})(?:[.\-]\d{1,3}){1,2}\\?[.):]?\s+(?=\S)")
_HEAD = re.compile(r"(?:(?:stage|stufe|chapter|part|kapitel|abschnitt|teil|schritt|step|section)\s*)?(\d{1,2})\b", re.I)


def find_step(text: str, stage: str) -> str | None:
    """The words of a typed step: "3) Fit R1", "[ ] Step 12. Fit R1" and, in a stage numbered 2, "2.3 Fit R1"."""
    rest = _BOX.sub("", text, count=1) if _BOX.match(text) else text
    if match := _NUMBER.match(rest) or _of_stage(rest, stage):
        return rest[match.end() :]
    return rest if rest != text and rest.strip() else None


def _of_stage(text: str, stage: str):
    """A number in two parts whose first is the stage's own: "3.3 V" in stage 2 is none."""
    match = _IN_STAGE.match(text)
    return match if match and stage and match[1] == stage else None


def read_number(title: str) -> str:
    """ "2" of "2 Supply" and of "Stage 2: Supply"."""
    match = _HEAD.match(title.strip())
    return match[1] if match else ""


def bare_titles(titles: list[str]) -> list[str]:
    """Titles without the numbers in front where those count up: "12 V supply" among others keeps its own."""
    matches = [re.match(r"(\d{1,2})\s+(?=[^\W\d_]{2})", title) for title in titles]
    numbers = [int(match[1]) for match in matches if match]
    counts = (
        len(numbers) > 1 and len(numbers) == len(titles) and numbers == [*range(numbers[0], numbers[0] + len(numbers))]
    )
    return [title[match.end() :] if counts and match else title for title, match in zip(titles, matches, strict=True)]


def is_in_capitals(line: str) -> bool:
    """A line of capitals alone, such as "FIRST POWER", but no list of references."""
    return bool(re.fullmatch(r"[A-ZÄÖÜ][A-ZÄÖÜ ,/&-]{4,60}", line)) and not re.search(r"\d", line)


def title_case(line: str) -> str:
    return line.title() if is_in_capitals(line) else line


def with_typed_headings(outline: Outline) -> Outline:
    """Where a document has no headings, or one alone as its title, its typed ones: lines in bold, "Stage 2: Supply",
    lines in capitals, "2 Supply" before "2.1 Fit C1", or "1. Supply" in bold, which may be a step elsewhere."""
    headings = [piece.level for piece in outline.pieces if piece.kind == "heading"]
    if len(headings) > 1:
        return outline
    counted = () if headings else (_bold_counted(outline.pieces),)
    for find in (_bold, _stage, _in_capitals, _numbered(outline.pieces), *counted):
        titles = {
            n: title for n, piece in enumerate(outline.pieces) if piece.kind == "text" and (title := find(piece.text))
        }
        if len(titles) > 1:
            level = headings[0] + 1 if headings else 1
            outline.pieces = [
                Piece("heading", titles[n], level) if n in titles else piece for n, piece in enumerate(outline.pieces)
            ]
            break
    return outline


def _bold(text: str) -> str:
    match = _BOLD.fullmatch(text.strip())
    return "" if not match or _SENTENCE.search(match[1]) or find_step(match[1], "") else title_case(_plain(match[1]))


def _bold_counted(pieces: list[Piece]):
    """Lines in bold that count up from 1, each with something below it that is none of them."""
    lines = [(n, match) for n, piece in enumerate(pieces) if piece.kind == "text" and (match := _counted(piece.text))]
    counts_up = [int(match[1]) for _n, match in lines] == [*range(1, len(lines) + 1)]
    has_below = all(end - n > 1 for n, end in pairwise([*(n for n, _match in lines), len(pieces)]))

    def find(text: str) -> str:
        match = _counted(text)
        return title_case(_plain(match[2])) if match and counts_up and has_below else ""

    return find


def _counted(text: str):
    match = _BOLD.fullmatch(text.strip())
    return re.fullmatch(r"\(?(\d{1,2})\\?[.)]{1,2}\s+(\S.+)", match[1]) if match else None


def _stage(text: str) -> str:
    return _plain(text.strip()) if STAGE.fullmatch(text.strip()) and "\n" not in text.strip() else ""


def _in_capitals(text: str) -> str:
    return title_case(text.strip()) if is_in_capitals(text.strip()) else ""


def _numbered(pieces: list[Piece]):
    """Lines such as "2 Supply" with lines such as "2.1 Fit C1" below them."""
    inner = {match[1] for piece in pieces if piece.kind == "text" and (match := _IN_STAGE.match(piece.text))}

    def find(text: str) -> str:
        match = _NUMBERED.fullmatch(text.strip())
        is_title = match and match[1] in inner and not _SENTENCE.search(match[2])
        return _plain(text.strip()) if is_title else ""

    return find


def _plain(text: str) -> str:
    return re.sub(r"\\(.)", r"\1", " ".join(text.split()))
