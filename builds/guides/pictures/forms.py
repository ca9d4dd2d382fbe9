"""The forms of a picture: its frame, and its marks in rows."""

import math

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from builds.guides.editor.table_field import Column, TableField
from builds.guides.guide_file.picture_rules import MOST, mark_problems
from builds.guides.pictures.draw import RING
from builds.guides.pictures.geometry import LEAST, WHOLE, Frame

KINDS = (("arrow", _("arrow")), ("ring", _("ring")), ("number", _("number")), ("words", _("text")))
COLUMNS = (
    Column("what", _("Mark"), KINDS),
    Column("across", _("From the left, %")),
    Column("down", _("From the top, %")),
    Column("to_across", _("Arrow to: from the left, %")),
    Column("to_down", _("Arrow to: from the top, %")),
    Column("size", _("Ring: radius, %")),
    Column("text", _("Number or text"), is_wide=True),
)


def share(text: str) -> float:
    """A percentage as typed, as a fraction. Raises ValueError."""
    value = float(text.replace("%", "").replace(",", ".").strip()) / 100
    if not math.isfinite(value):
        raise ValueError(text)
    return round(value, 4)


class MarksForm(forms.Form):
    mark = TableField(columns=COLUMNS, spare=3, label=_("Marks"))

    def clean_mark(self) -> list[dict]:
        rows = [row for row in self.cleaned_data["mark"] if row["what"]]
        if len(rows) > MOST:
            raise forms.ValidationError(gettext("A picture has at most %(most)d marks.") % {"most": MOST}, code="many")
        wrong, marks = [], []
        for n, row in enumerate(rows, 1):
            try:
                marks.append(read_mark(row))
            except ValueError:
                wrong.append(_at_row(n, gettext("Positions and sizes are percentages, such as 42.5.")))
                continue
            wrong += [_at_row(n, message) for message in mark_problems(marks[-1])]
        if wrong:
            raise forms.ValidationError(wrong)
        return marks


def _at_row(n: int, message: str) -> forms.ValidationError:
    sentence = gettext("Mark %(n)d: %(message)s") % {"n": n, "message": message}
    return forms.ValidationError(sentence, code="mark")


def read_mark(row: dict[str, str]) -> dict:
    """A row of the form as a mark of the guide file. Raises ValueError for what is no percentage."""
    mark = {"what": row["what"], "at": [share(row["across"]), share(row["down"])]}
    if row["what"] == "arrow":
        mark["to"] = [share(row["to_across"]), share(row["to_down"])]
    if row["what"] == "ring" and row["size"]:
        mark["size"] = share(row["size"])
    if row["what"] in ("number", "words"):
        mark["text"] = " ".join(row["text"].split())
    return mark


def row_of_mark(mark: dict) -> dict[str, str]:
    to = mark.get("to", ("", ""))
    return {
        "what": mark["what"],
        "across": percent(mark["at"][0]),
        "down": percent(mark["at"][1]),
        "to_across": percent(to[0]),
        "to_down": percent(to[1]),
        "size": percent(mark.get("size", RING)) if mark["what"] == "ring" else "",
        "text": mark.get("text", ""),
    }


def mark_text(row: dict[str, str]) -> str:
    """A row of marks in words: "arrow 10 % 12 % → 60 % 50 %", "words 5 % 9 %: the red tag"."""
    if not row.get("what"):
        return ""
    parts = [str(dict(KINDS).get(row["what"], row["what"])), f"{row['across']} % {row['down']} %"]
    parts += [f"→ {row['to_across']} % {row['to_down']} %"] if row["what"] == "arrow" else []
    parts += [f"⌀ {row['size']} %"] if row["what"] == "ring" and row.get("size") else []
    return " ".join(parts) + (f": {row['text']}" if row.get("text") else "")


def frame_text(changes: dict | None) -> str:
    """How a picture is shown: its turn, and the edges of its crop as percentages of the whole."""
    frame = Frame.of(changes)
    edges = " ".join(f"{percent(edge)} %" for edge in frame.crop)
    return gettext("turned by %(turn)d°, edges %(edges)s") % {"turn": frame.turn, "edges": edges}


def percent(value) -> str:
    return "" if value == "" else f"{100 * value:.2f}".rstrip("0").rstrip(".")


class FrameForm(forms.Form):
    """A crop of what is shown now, and a quarter turn after it."""

    left = forms.FloatField(label=_("Left edge, %"), min_value=0, max_value=100, initial=0)
    top = forms.FloatField(label=_("Top edge, %"), min_value=0, max_value=100, initial=0)
    right = forms.FloatField(label=_("Right edge, %"), min_value=0, max_value=100, initial=100)
    bottom = forms.FloatField(label=_("Bottom edge, %"), min_value=0, max_value=100, initial=100)
    turn = forms.TypedChoiceField(
        label=_("Turn"),
        coerce=int,
        choices=((0, _("not at all")), (1, _("right, clockwise")), (2, _("upside down")), (3, _("left"))),
        required=False,
        empty_value=0,
    )

    def clean(self):
        data = super().clean()
        if self.errors:
            return data
        if data["right"] - data["left"] < 100 * LEAST or data["bottom"] - data["top"] < 100 * LEAST:
            raise forms.ValidationError(
                gettext(
                    "A crop must keep at least 5 % of the width and of the height, from left to right, top to bottom."
                ),
                code="crop",
            )
        return data

    def text(self) -> str:
        """What was asked for, in words."""
        edges = " ".join(f"{self[name].value()} %" for name in ("left", "top", "right", "bottom"))
        turn = dict(self.fields["turn"].choices).get(self.cleaned_data.get("turn", 0), "")
        return gettext("turn %(turn)s, edges %(edges)s of what was shown") % {"turn": turn, "edges": edges}

    def frame(self, now: Frame) -> Frame:
        edges = tuple(self.cleaned_data[name] / 100 for name in ("left", "top", "right", "bottom"))
        frame = now if edges == WHOLE else now.cropped(edges)
        for _quarter in range(self.cleaned_data["turn"]):
            frame = frame.turned()
        return frame
