"""Two tabs, or two designers, at one row: a row has a version, and who comes second sees both texts."""

from dataclasses import dataclass

from django.forms import model_to_dict

from builds.guides.editor.edits import row_version


@dataclass(frozen=True)
class Clash:
    """One field that says something else in the draft by now than what this person typed."""

    label: str
    saved: str
    typed: str


def version_of(kind: str, row) -> str:
    """The version of a row as it is in the database; "guide" is the head of the draft."""
    fields = {name: value for name, value in model_to_dict(row).items() if name not in ("id", "position", "kit")}
    return row_version({"kind": kind, **{name: repr(value) for name, value in fields.items()}})


def clashes(form, kind: str, version: str) -> tuple[Clash, ...]:
    """The fields in which a posted form and the row as it is now part, where the form began from another version."""
    began = form.data.get("version", "") if form.is_bound else ""
    if not began or began == version:
        return ()
    compared = (_clash(form[name]) for name in form.fields)
    return tuple(clash for clash in compared if clash)


def _clash(field) -> Clash | None:
    saved, typed = field.form[field.name].initial, field.value()
    shown = field.field.prepare_value(saved)
    if _plain(shown) == _plain(typed):
        return None
    return Clash(str(field.label), _plain(shown), _plain(typed))


def _plain(value) -> str:
    if value in (None, False, ""):
        return ""
    if isinstance(value, list):
        return (
            "; ".join(_row(item) for item in value)
            if any(isinstance(item, dict) for item in value)
            else ", ".join(map(str, value))
        )
    return str(value).replace("\r\n", "\n").strip()


def _row(item) -> str:
    """A row of a small table, its blank cells left out."""
    return (
        " ".join(str(cell) for cell in item.values() if cell not in ("", None)) if isinstance(item, dict) else str(item)
    )
