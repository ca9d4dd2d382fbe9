"""The pieces of a document as stages with their steps and checks, as a draft would have them."""

import re
from dataclasses import dataclass, field

from builds.guides.dangerous_words import Order, orders_in
from builds.guides.proposals.candidates import Kit
from builds.guides.proposals.stages import LIVE
from builds.guides.short_names import WORDS, make_key
from builds.guides.text_import.markup import escape
from builds.guides.text_import.order import is_next_thing, list_order
from builds.guides.text_import.outline import Outline, Piece
from builds.guides.text_import.part_ends import point_named
from builds.guides.text_import.pin_charts import VALVE
from builds.guides.text_import.power_words import (
    is_bare,
    is_off,
    is_on,
    leaves_out_valves,
    named_left_out,
    reads_live,
    reads_ohms,
)
from builds.guides.text_import.tables import CheckRow, is_of_readings, list_checks
from builds.guides.text_import.typed_marks import bare_titles, find_step, read_number
from builds.guides.text_import.valves_in import fit_valves_left_out
from builds.guides.video import video_line
from builds.guides.wiring.ends import list_ends
from checks.circuit.netlist.wires import CHASSIS

_FITS = re.compile(
    r"\b(?:fit|solder|mount|insert|install|plug|put|push|seat|place|bolt|screw|attach|wire|connect|join|(?:ein|an|auf)?(?:löten?|setzen?|stecken?|bauen|schrauben)|"
    r"montieren?|befestigen?|anschließen|verbinden?|verdrahten?|bestücken?)\b",
    re.IGNORECASE,
)
_REFS = re.compile(r"\b([^\W\d_]{1,3})(\d{1,3})\s*(?:-|–|—|to|thru|through|bis)\s*\1?(\d{1,3})\b")


@dataclass
class StagePlan:
    title: str
    intro: str = ""
    power: str = "off"
    gate: bool = False
    is_bare: bool = False
    steps: list[dict] = field(default_factory=list)
    video: dict | None = None
    checks: list[CheckRow] = field(default_factory=list)
    number: str = ""  # as its heading has it: "2" of "2 Supply"
    lead: str = ""  # a heading under the stage's own, with what stands below it, for the next step
    early: str = ""  # a picture that stands before the first step, which it then belongs to


@dataclass
class Plan:
    title: str = ""
    stages: list[StagePlan] = field(default_factory=list)
    unplaced: list[str] = field(default_factory=list)  # pictures that no step has room for
    missing: list[str] = field(default_factory=list)  # pictures that the text names and nobody has


def make_plan(outline: Outline, parts: list[dict], places: set[str]) -> Plan:
    """Headings of one level are the stages; numbered items their steps; tables of readings their checks."""
    level = stage_level(outline.pieces)
    plan, refs = Plan(), {row["ref"] for row in parts}
    ahead: list[Piece] = []
    for piece in outline.pieces:
        if piece.kind == "title" or (piece.kind == "heading" and piece.level < level):
            _title(plan, piece, ahead)
        elif piece.kind == "heading" and piece.level == level:
            plan.stages.append(_begun(piece.text))
            for early in ahead:  # what the document says before its first stage
                _add(plan, plan.stages[-1], early, refs, places)
            _end_lead(plan.stages[-1])
            ahead = []
        elif plan.stages:
            _add(plan, plan.stages[-1], piece, refs, places)
        else:
            ahead.append(piece)
    plan.unplaced += [piece.text for piece in ahead if piece.kind == "picture"]
    for stage, title in zip(plan.stages, bare_titles([stage.title for stage in plan.stages]), strict=True):
        _end_lead(stage)
        _read_only(stage)
        _place_early(plan, stage)
        stage.title = title
    _gates(plan.stages)
    valves = {row["ref"] for row in parts if row.get("base")}
    for stage in plan.stages:
        stage.is_bare = stage.is_bare or _leaves_valves_out(stage, valves)
    find_heaters(plan, parts)
    find_ends(plan, parts)
    return plan


def _read_only(stage: StagePlan) -> None:
    """A stage that is only read, such as "Before you start", is a step to tick: an empty stage cannot be issued."""
    if stage.intro and not (stage.steps or stage.checks):
        stage.steps, stage.intro = [{"text": stage.intro, "picture": ""}], ""


def _leaves_valves_out(stage: StagePlan, valves: set[str]) -> bool:
    """Do the words of a powered stage leave the valves out, and no step fit one?"""
    texts = [step["text"] for step in stage.steps]
    fits = any(_FITS.search(text) and valves & {*re.findall(r"[^\W\d_]+\d+", text)} for text in texts)
    return stage.power == "on" and not fits and leaves_out_valves((stage.intro, *texts))


def _title(plan: Plan, piece: Piece, ahead: list[Piece]) -> None:
    """The first is the title; a further one is said where it stands."""
    if not plan.title:
        plan.title = piece.text
    elif plan.stages:
        _end_lead(plan.stages[-1])
        plan.stages[-1].lead = f"**{piece.text}**"
    else:
        ahead.append(Piece("text", f"**{piece.text}**"))


def stage_level(pieces: list[Piece]) -> int:
    """The highest level with more than one heading; with one alone, its own."""
    levels = [piece.level for piece in pieces if piece.kind == "heading"]
    several = [level for level in sorted({*levels}) if levels.count(level) > 1]
    return several[0] if several else min(levels, default=1)


def _begun(title: str) -> StagePlan:
    plain = re.sub(
        r"^(?:(?:stage|stufe|chapter|part|kapitel|abschnitt|teil|schritt|step|section)\s*)?\d{1,2}\s*[:.)–—-]\s*",
        "",
        title,
        flags=re.IGNORECASE,
    )
    named, power = (plain or title)[:120], "on" if is_on(title) else "off"
    return StagePlan(named, power=power, is_bare=is_bare(title), number=read_number(title))


def _gates(stages: list[StagePlan]) -> None:
    """The last stage before each powered one is a gate, and so is each powered one but the last."""
    for n, stage in enumerate(stages):
        if n + 1 < len(stages) and stages[n + 1].power == "on":
            stage.gate = True


def _step_text(piece: Piece, number: str) -> str | None:
    """What a numbered item says, and a line whose number or box to tick was typed."""
    if piece.kind == "item":
        return piece.text
    return find_step(piece.text, number) if piece.kind in ("text", "bullet") and piece.level < 2 else None


def _add(plan: Plan, stage: StagePlan, piece: Piece, refs, places) -> None:
    if piece.kind == "heading":
        _end_lead(stage)
        stage.lead = f"**{piece.text}**"
    elif piece.kind in ("text", "bullet", "item") and (video := video_line(piece.text)):
        if stage.steps:
            stage.steps[-1]["video"] = video
        else:
            stage.video = video
    elif text := _step_text(piece, stage.number):
        lead = f"{stage.lead}\n\n" if stage.lead else ""
        stage.lead = ""
        stage.steps.append({"text": lead + text, "picture": ""})
        _power(stage, text)
    elif piece.kind == "table":
        if is_of_readings(piece.rows):
            _end_lead(stage, before_readings=True)
            for check in list_checks(piece.rows, places, stage.power == "on"):
                check.after = len(stage.steps)
                stage.checks.append(check)
            if reads_live(stage.checks) and not is_off(stage.title):
                stage.power = "on"
        else:
            _add_text(stage, _markdown_table(piece.rows))
    elif piece.kind == "picture":
        _picture(plan, stage, piece.text)
    else:
        mark = "  " * max(0, piece.level - 2) + "- " if piece.kind == "bullet" else ""
        _add_text(stage, mark + piece.text, is_bullet=bool(mark))


def _power(stage: StagePlan, text: str) -> None:
    """A stage is powered from its title, or by a step that has the builder switch on: never where resistances are read
    before, which a meter reads with the power off."""
    if Order.SWITCH_ON in orders_in(text) and not reads_ohms(stage.checks) and not is_off(stage.title):
        stage.power = "on"


def _add_text(stage: StagePlan, text: str, is_bullet: bool = False) -> None:
    """Under a heading of its own a text waits for the step that follows; else it belongs to the step before."""
    if stage.lead:
        is_list = is_bullet and stage.lead.rpartition("\n")[2].lstrip().startswith("- ")
        stage.lead += ("\n" if is_list else "\n\n") + text
    elif _follows_readings(stage) and is_next_thing(text):
        stage.steps.append({"text": text, "picture": ""})
        _power(stage, text)
    else:
        _append(stage, text, is_bullet)


def _end_lead(stage: StagePlan, *, before_readings: bool = False) -> None:
    """What stood under a heading that no step followed: to be done after the readings before it, if it is more than
    the heading and no other readings follow."""
    lead, stage.lead = stage.lead, ""
    if "\n\n" in lead and _follows_readings(stage) and not before_readings:
        stage.steps.append({"text": lead, "picture": ""})
    elif lead:
        _append(stage, lead)


def _follows_readings(stage: StagePlan) -> bool:
    """Is a table of readings what stands last?"""
    return bool(stage.checks) and stage.checks[-1].after == len(stage.steps)


def _append(stage: StagePlan, text: str, is_bullet: bool = False) -> None:
    """To the last step; before the first, to the introduction."""
    before = stage.steps[-1]["text"] if stage.steps else stage.intro
    last = before.rpartition("\n")[2]
    joint = "\n" if is_bullet and last.lstrip().startswith("- ") else "\n\n"
    joined = f"{before}{joint}{text}" if before else text
    if stage.steps:
        stage.steps[-1]["text"] = joined
    else:
        stage.intro = joined


def _picture(plan: Plan, stage: StagePlan, name: str) -> None:
    """A step has one picture; a further one stays in the draft without a place."""
    if stage.steps and not stage.steps[-1]["picture"]:
        stage.steps[-1]["picture"] = name
    elif not stage.steps and not stage.early:
        stage.early = name
    else:
        plan.unplaced.append(name)


def _place_early(plan: Plan, stage: StagePlan) -> None:
    """A picture before the first step goes to that step, where it has none of its own."""
    if stage.early and stage.steps and not stage.steps[0]["picture"]:
        stage.steps[0]["picture"] = stage.early
    elif stage.early:
        plan.unplaced.append(stage.early)


def _markdown_table(rows) -> str:
    head, *body = (tuple(escape(cell).replace("|", "\\|") for cell in row) for row in rows)
    lines = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    return "\n".join(lines + ["| " + " | ".join(row) + " |" for row in body])


def find_heaters(plan: Plan, parts: list[dict]) -> None:
    """Where a table says "Heaters V1" the probes go to V1's heater pins, as they are wired."""
    pins = {row["ref"]: (one.address, other.address) for row, one, other in Kit(parts).heaters()}
    for check in (check for stage in plan.stages for check in stage.checks):
        named = re.search(rf"(?:heater|filament|heiz).*?\b({VALVE})\b|\b({VALVE})\b.*?(?:heater|filament|heiz)",
                          check.row["title"], re.IGNORECASE)  # fmt: skip
        by_name = {known.upper(): known for known in pins}
        ref = by_name.get((named[1] or named[2]).upper(), "") if named else ""
        if ref in pins and check.row["red"].startswith("="):
            check.row["red"], check.row["black"] = pins[ref]


def find_ends(plan: Plan, parts: list[dict]) -> None:
    """Where a table says "C1 +" or "V2 cathode" the probe goes to what that end joins."""
    for check in (check for stage in plan.stages for check in stage.checks):
        _find_resistor(check.row, parts)
        for key in ("red", "black"):
            place = check.row.get(key, "")
            if place.startswith("=") and (point := point_named(place[1:], parts)):
                check.row[key] = point


def _find_resistor(check: dict, parts: list[dict]) -> None:
    """A current is read across its resistor: the probes go to both its ends, red to the one that is not the chassis."""
    part = next((row for row in parts if row["ref"] == check.get("through")), None)
    points = [end.point for end in list_ends(part)] if part else []
    if check["red"].startswith("=") and "black" not in check and len(points) == 2 and all(points):
        red, black = sorted(points, key=lambda point: point == CHASSIS)
        check |= {"red": red} | ({"black": black} if black != CHASSIS else {})


def list_rows(plan: Plan, parts: list[dict]) -> list[dict]:
    """The stages as the guide file has them."""
    refs = [row["ref"] for row in parts]
    valves = [row["ref"] for row in parts if row.get("base")]
    taken: set[str] = set()
    rows, had_power = [], False
    for stage in plan.stages:
        had_power = had_power or stage.power == "on"
        rows.append(_row(stage, refs, valves, taken, had_power))
    fit_valves_left_out(rows)
    return rows


def _row(stage: StagePlan, refs, valves, taken: set[str], had_power: bool) -> dict:
    inner: set[str] = set()
    row: dict = {"key": make_key(stage.title, taken), "title": stage.title}
    if stage.intro:
        row["intro"] = stage.intro
    if stage.power == "on":
        row |= {"power": "on", "cautions": [*LIVE]}
        if stage.is_bare and valves:
            row["not_fitted"] = named_left_out((stage.intro, *(step["text"] for step in stage.steps)), valves)
    else:
        row["cautions"] = ["eye-protection", "solder-fumes"]
    if stage.gate:
        row["gate"] = True
    if stage.video:
        row["video"] = stage.video
    numbered = [(n, step) for n, step in enumerate(stage.steps) if step["text"].strip()]
    steps = [_step(step, refs, inner, had_power) for _n, step in numbered]
    checks = [check.row | {"key": make_key(check.row["title"], inner)} for check in stage.checks]
    order = list_order(
        [(n, row["key"]) for (n, _s), row in zip(numbered, steps, strict=True)],
        [(check.after, row["key"]) for check, row in zip(stage.checks, checks, strict=True)],
    )
    lists = {"order": order, "step": steps, "check": checks}
    return row | {name: rows for name, rows in lists.items() if rows}


def _step(step: dict, refs: list[str], taken: set[str], had_power: bool) -> dict:
    text = step["text"].strip()
    row = {"key": make_key(" ".join(WORDS.findall(text.lower())[:5]), taken), "text": text}
    if step.get("picture"):
        row["picture"] = step["picture"]
    if step.get("video"):
        row["video"] = step["video"]
    named = refs_in(text, refs)
    if named and _FITS.search(text):
        row["parts"] = named
        if had_power:
            row["hands_in"] = True
    return row


def refs_in(text: str, refs: list[str]) -> list[str]:
    """The references that a text names, those within "R2 to R8" too."""
    words = {*re.findall(r"\w+", text)}
    named = {ref for ref in refs if ref in words or (not ref.isalnum() and re.search(rf"\b{re.escape(ref)}\b", text))}
    if spans := {(match[1], match[2], match[3]) for match in _REFS.finditer(text)}:
        named |= _within(spans, refs)
    return [ref for ref in refs if ref in named]


def _within(spans: set[tuple[str, str, str]], refs: list[str]) -> set[str]:
    """The references that lie within ("R", "2", "8") and others."""
    numbered: dict[str, list[int]] = {}
    for ref in refs:
        if match := re.fullmatch(r"([^\W\d_]{1,3})([1-9]\d*)", ref):
            numbered.setdefault(match[1], []).append(int(match[2]))
    return {
        f"{letters}{n}"
        for letters, first, last in spans
        for n in numbered.get(letters, ())
        if int(first) <= n <= int(last)
    }
