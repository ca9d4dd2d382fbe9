"""What changed from one revision to another, row by row."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from builds.guides.edit_display import whole
from builds.guides.guide_file.write import as_data
from builds.guides.row_labels import FIGURES, field_label, format_figures, value_text
from builds.ui.word_diff import Piece, word_diff

TOGETHER = "figure and band"  # what the figures of a check are called as one change


@dataclass(frozen=True)
class Difference:
    """`where` and `key` name the row and field as the guide file does (no key where a whole row came or went); `name`
    as a person does.

    `figures`: of a check, its figure and band before and after, in words. `row`: what a row that came or went says.
    """

    where: str
    key: str
    before: object
    after: object
    name: str = ""
    figures: tuple[str, str] | None = None
    row: str = ""

    @property
    def what(self) -> str:
        if self.key == TOGETHER:
            return _("figure and band")
        return field_label(self.key) if self.key else _("the whole row")

    @property
    def before_text(self) -> str:
        return self._shown(self.before)

    @property
    def after_text(self) -> str:
        return self._shown(self.after)

    @property
    def is_whole(self) -> bool:
        """Did a whole row come or go?"""
        return not self.key

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """From the one to the other, word by word; figures go and come as a whole."""
        before, after = self.before_text, self.after_text
        if self.is_whole:
            return (Piece("in" if self.after == "added" else "out", self.row or after),)
        if self.key == TOGETHER or self.key in FIGURES:
            return whole(before, after)
        return word_diff(before, after)

    @property
    def left(self) -> tuple[Piece, ...]:
        """What the older said, with what goes out marked."""
        return tuple(p for p in self.pieces if p.kind != "in" and p.text != " → ")

    @property
    def right(self) -> tuple[Piece, ...]:
        """What the newer says, with what is new marked."""
        return tuple(p for p in self.pieces if p.kind != "out" and p.text != " → ")

    def _shown(self, value) -> str:
        if value == "–":
            return ""
        if self.is_whole:
            return {"added": _("added"), "removed": _("removed"), "there": _("existing")}.get(value, value)
        return str(value) if self.key == TOGETHER else value_text(self.key, value)


def differences(before, after) -> list[Difference]:
    """Every row and figure that differs between two revisions of a guide, in the guide's order."""
    return table_differences(as_data(before), as_data(after))


def table_differences(before: dict, after: dict) -> list[Difference]:
    """The same of two guides as tables."""
    old, new = _flat(before), _flat(after)
    changes = []
    for where in [*old, *(w for w in new if w not in old)]:
        name, a = old.get(where, ("", None))
        latest, b = new.get(where, (name, None))
        if a is None or b is None:
            changes.append(
                Difference(
                    where,
                    "",
                    "–" if a is None else "there",
                    "added" if a is None else "removed",
                    latest,
                    row=_row_gist(a or b or {}),
                )
            )
            continue
        figures = (format_figures(a), format_figures(b)) if "measure" in a else None
        changes += [
            Difference(where, key, a.get(key, "–"), b.get(key, "–"), latest, figures if key in FIGURES else None)
            for key in sorted({*a, *b})
            if a.get(key) != b.get(key)
        ]
    return changes


def by_figure(changes: Iterable[Difference]) -> list[Difference]:
    """The same differences with the figure and band of each check told as one."""
    rows, seen = [], set()
    for row in changes:
        if row.figures is None:
            rows.append(row)
        elif row.where not in seen:
            seen.add(row.where)
            rows.append(replace(row, key=TOGETHER, before=row.figures[0], after=row.figures[1]))
    return rows


def _row_gist(row: dict) -> str:
    """The gist of a row: a step's words, a check's figure, a part's value, what a point is."""
    gist = value_text("text", row.get("text") or row.get("words") or "") or format_figures(row)
    return gist or " ".join(value_text(key, row.get(key)) for key in ("kind", "value") if row.get(key))


def _flat(data) -> dict[str, tuple[str, dict]]:
    """Where a row is, as the guide file names it -> its name for people, and the row."""
    rows = {"kit": (_("The kit"), {k: v for k, v in data["kit"].items() if k not in ("key", "revision")})}
    rows |= {f"picture {p['name']}": (_("Picture %(name)s") % p, p) for p in data.get("picture", [])}
    rows |= {f"point {p['node']}": (_("Point %(node)s") % p, p) for p in data["point"]}
    rows |= {f"part {p['ref']}": (_("Part %(ref)s") % p, p) for p in data["part"]}
    rows |= {
        f"fault {f.get('key', '')}": (_("Fault %(key)s") % {"key": f.get("key", "")}, f) for f in data.get("fault", [])
    }
    for stage in data["stage"]:
        label, title = f"stage {stage['key']}", stage["title"]
        rows[label] = (title, {k: v for k, v in stage.items() if k not in ("step", "check")} | _list_order(stage))
        rows |= {
            f"{label}, step {s['key']}": (_("%(stage)s, step %(n)d") % {"stage": title, "n": n}, s)
            for n, s in enumerate(stage.get("step", []), 1)
        }
        rows |= {f"{label}, check {c['key']}": (f"{title}: {c['title']}", c) for c in stage.get("check", [])}
    for language, texts in data.get("translations", {}).items():
        name = _("Translation %(language)s") % {"language": language}
        rows[f"translation {language}"] = (name, {".".join(path): text for path, text, _of in texts})
    return rows


def _list_order(stage: dict) -> dict:
    """The order of a stage's steps and checks as people know them, where it is not the steps and then the checks."""
    names = {step["key"]: _("step %(n)d") % {"n": n} for n, step in enumerate(stage.get("step", []), 1)}
    names |= {check["key"]: check["title"] for check in stage.get("check", [])}
    return {"order": [names[key] for key in stage["order"]]} if "order" in stage else {}
