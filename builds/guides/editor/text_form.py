"""The preview of a text import as a form: what the document says, with what its designer corrected."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.editor.wiring_table import circuit_overview
from builds.guides.guide_file.compare import by_figure, table_differences
from builds.guides.text_import.outline import Outline
from builds.guides.text_import.save import after_import, draft_key, problems_of
from builds.guides.text_import.stages import Plan, plan_of

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


@dataclass(frozen=True)
class TextPreview:
    plan: Plan
    pictures: dict[str, bytes]
    left_out: list[str]
    key: str
    problems: list[str]
    differences: list

    @property
    def steps(self) -> int:
        return sum(len(stage.steps) for stage in self.plan.stages)

    @property
    def checks(self) -> int:
        return sum(len(stage.checks) for stage in self.plan.stages)

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
                "steps": [(k, _("Step %(number)d") % {"number": k + 1}, s) for k, s in enumerate(stage.steps)],
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


def plan_for(draft, tables: dict, outline: Outline, post) -> Plan:
    """The document's stages, with the corrections of the form where it was sent."""
    overview = circuit_overview(draft)
    places = {end.address for _point, ends in overview["points"] for end in ends if end.pin}
    places |= {point for point, _ends in overview["points"]} | {"chassis"}
    plan = plan_of(outline, tables["part"], places)
    if "corrected" in post:
        _correct(plan, post)
    return plan


def _correct(plan: Plan, post) -> None:
    stages = []
    for n, stage in enumerate(plan.stages):
        start = f"stage-{n}"
        stage.title = post.get(f"{start}-title", stage.title).strip()[:120] or stage.title
        stage.power = "on" if post.get(f"{start}-power") == "on" else "off"
        stage.gate = bool(post.get(f"{start}-gate"))
        stage.is_bare = bool(post.get(f"{start}-bare"))
        for k, step in enumerate(stage.steps):
            step["text"] = post.get(f"{start}-step-{k}", step["text"]).replace("\r\n", "\n").strip()
        for k, check_row in enumerate(stage.checks):
            cells = {name: post.get(f"{start}-check-{k}-{name}", "").strip() for name in CHECK_CELLS}
            note = {"note": check_row.row["note"]} if check_row.row.get("note") else {}
            check_row.row = {name: cell for name, cell in cells.items() if cell} | note
        stage.checks = [
            check_row for check_row in stage.checks if check_row.row.get("title") and check_row.row.get("red")
        ]
        if post.get(f"{start}-keep"):
            stages.append(stage)
    plan.stages = stages


def preview_of(draft, tables: dict, plan: Plan, outline: Outline) -> TextPreview:
    after = after_import(tables, plan)
    return TextPreview(
        plan,
        outline.pictures,
        outline.left_out,
        draft_key(tables),
        problems_of(draft, tables, after, outline.pictures),
        by_figure(table_differences(tables, after)) if tables["stage"] else [],
    )
