"""The preview of a text import as a form: what the document says, with what its designer corrected."""

import re
from copy import deepcopy
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.guides.editor.wiring_table import circuit_overview
from builds.guides.guide_file.compare import by_figure, table_differences
from builds.guides.text_import.outline import Outline
from builds.guides.text_import.save import after_import, draft_key, list_problems
from builds.guides.text_import.stages import Plan, StagePlan, make_plan
from builds.guides.wiring.ends import list_ends

CHECK_CELLS = (
    "title",
    "measure",
    "red",
    "black",
    "expected",
    "band",
    "low",
    "high",
    "at_least",
    "at_most",
    "stop_above",
)
_SHARE = re.compile(r"(?:±|\+\s*/\s*[-−–])\s*(\d{1,2}(?:[.,]\d)?)\s*%")
_RESISTOR = re.compile(r"\bR\d{1,3}\b")
NOTES = {
    "tracked": gettext_lazy("The document has tracked changes. Inserted text is included, deleted text is left out."),
    "object": gettext_lazy("The document has formulas, charts or embedded objects, which are left out."),
    "cut": gettext_lazy("The document is too long. Only its first 5,000 paragraphs are included."),
}


@dataclass(frozen=True)
class TextPreview:
    plan: Plan
    pictures: dict[str, bytes]
    left_out: list[str]
    key: str
    problems: list[str]
    differences: list
    codes: list[str]

    @property
    def notes(self) -> list[str]:
        """What of the document is not as it was, in sentences."""
        return [str(NOTES[code]) for code in self.codes]

    @property
    def steps(self) -> int:
        return sum(len(stage.steps) for stage in self.plan.stages)

    @property
    def checks(self) -> int:
        return sum(len(stage.checks) for stage in self.plan.stages)

    @property
    def bandless(self) -> int:
        """Checks whose figure has no tolerance yet."""
        return sum(_without_band(check.row) for stage in self.plan.stages for check in stage.checks)

    @property
    def said_band(self) -> str:
        """The tolerance that the words of the document give, such as "all voltages ±10 %"; "" if several."""
        texts = [stage.intro for stage in self.plan.stages]
        texts += [step["text"] for stage in self.plan.stages for step in stage.steps]
        shares = {share.replace(",", ".") for share in _SHARE.findall("\n".join(texts))}
        return f"{shares.pop()}%" if len(shares) == 1 else ""

    @property
    def summary(self) -> str:
        counts = {"stages": len(self.plan.stages), "steps": self.steps, "checks": self.checks}
        text = _("Stages: %(stages)d. Steps: %(steps)d. Checks: %(checks)d. Pictures: %(pictures)d.")
        return text % (counts | {"pictures": len(self.pictures)})

    @property
    def stages(self) -> list[dict]:
        return [
            {
                "number": n,
                "stage": stage,
                "steps": [
                    (k, _("Step %(number)d") % {"number": k + 1}, s, _read_after(stage, k + 1))
                    for k, s in enumerate(stage.steps)
                ],
                "checks": [
                    {
                        "number": k,
                        "doubt": check_row.doubt,
                        "cells": [(name, check_row.row.get(name, "")) for name in CHECK_CELLS],
                    }
                    for k, check_row in enumerate(stage.checks)
                ],
            }
            for n, stage in enumerate(self.plan.stages)
        ]


def _read_after(stage: StagePlan, steps: int) -> str:
    """The readings that stand before a further step; those behind the last step are where one expects them."""
    titles = [check.row.get("title", "") for check in stage.checks if check.after == steps < len(stage.steps)]
    return ", ".join(titles)


def plan_for(draft, tables: dict, outline: Outline, post) -> Plan:
    """The document's stages, with the corrections of the form where it was sent."""
    overview = circuit_overview(draft)
    # A valve's pins are where they are before anything is wired to them.
    places = {end.address for row in tables["part"] for end in list_ends(row) if end.pin}
    places |= {point for point, _ends in overview["points"]} | {"chassis"}
    plan = make_plan(outline, tables["part"], places)
    _drop_unknown(plan, {*outline.pictures, *draft.pictures.values_list("name", flat=True)})
    if "corrected" in post:
        _correct(plan, post)
    if band := post.get("band_for_all", "").strip()[:20]:
        _fill_bands(plan, band)
    return plan


def _drop_unknown(plan: Plan, known: set[str]) -> None:
    """Markdown names its pictures by file; one that neither the text nor the draft has is told and left out."""
    for step in (step for stage in plan.stages for step in stage.steps):
        if step["picture"] and step["picture"] not in known:
            plan.missing.append(step["picture"])
            step["picture"] = ""
    plan.missing += [name for name in plan.unplaced if name not in known]
    plan.unplaced = [name for name in plan.unplaced if name in known]


def lacks_a_band(plan: Plan) -> bool:
    return any(_without_band(check.row) for stage in plan.stages for check in stage.checks)


def _without_band(row: dict) -> bool:
    return bool(row.get("expected")) and not any(row.get(key) for key in ("band", "low", "high", "at_least", "at_most"))


def _fill_bands(plan: Plan, band: str) -> None:
    """The tolerance that the designer gives for all figures that have none."""
    for row in (check.row for stage in plan.stages for check in stage.checks if _without_band(check.row)):
        row["band"] = band


def _correct(plan: Plan, post) -> None:
    stages = []
    for n, stage in enumerate(plan.stages):
        start = f"stage-{n}"
        stage.title = post.get(f"{start}-title", stage.title).strip()[:120] or stage.title
        stage.power = "on" if post.get(f"{start}-power") == "on" else "off"
        stage.gate = bool(post.get(f"{start}-gate"))
        stage.is_bare = bool(post.get(f"{start}-bare"))
        stage.intro = post.get(f"{start}-intro", stage.intro).replace("\r\n", "\n").strip()
        for k, step in enumerate(stage.steps):
            step["text"] = post.get(f"{start}-step-{k}", step["text"]).replace("\r\n", "\n").strip()
        for k, check_row in enumerate(stage.checks):
            cells = {name: post.get(f"{start}-check-{k}-{name}", "").strip() for name in CHECK_CELLS}
            check_row.row = _corrected(check_row.row, {name: cell for name, cell in cells.items() if cell})
        stage.checks = [
            check_row for check_row in stage.checks if check_row.row.get("title") and check_row.row.get("red")
        ]
        if post.get(f"{start}-keep"):
            stages.append(stage)
    plan.stages = stages


def _corrected(read: dict, cells: dict) -> dict:
    """What the form shows of a check, with what it has no cell for: its note, and the resistor of a current, which is
    the one read from the document or that the title names."""
    row = cells | ({"note": read["note"]} if read.get("note") else {})
    if row.get("measure") == "current":
        named = _RESISTOR.findall(f"{row.get('title', '')} {row.get('red', '')}")
        row |= {"through": through} if (through := read.get("through") or next(iter(named), "")) else {}
    return row


def build_preview(draft, tables: dict, plan: Plan, outline: Outline) -> TextPreview:
    after = after_import(tables, plan)
    banded = deepcopy(plan)  # one field asks for the tolerance that is missing: no error for each of them
    _fill_bands(banded, "10%")
    return TextPreview(
        plan,
        outline.pictures,
        outline.left_out,
        draft_key(tables),
        list_problems(draft, tables, after_import(tables, banded), outline.pictures),
        by_figure(table_differences(tables, after)) if tables["stage"] else [],
        outline.notes,
    )
