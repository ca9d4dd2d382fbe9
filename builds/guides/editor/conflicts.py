"""Two tabs, or two designers, at one row: a row has a version, and who comes second sees both texts."""

from dataclasses import dataclass

from django.forms import model_to_dict
from django.utils.translation import gettext as _

from builds.guides.editor.edits import row_version


@dataclass(frozen=True)
class Clash:
    """One field that says something else in the draft by now than what this person typed."""

    label: str
    saved: str
    typed: str


def find_version(kind: str, row) -> str:
    """The version of a row as it is in the database; "guide" is the head of the draft."""
    fields = {name: value for name, value in model_to_dict(row).items() if name not in ("id", "position", "kit")}
    return row_version({"kind": kind, **{name: repr(value) for name, value in fields.items()}})


def clashes(form, kind: str, version: str) -> tuple[Clash, ...]:
    """The fields in which a posted form and the row as it is now part, where the form did not begin from it."""
    if not form.is_bound or form.data.get("version", "") == version:
        return ()
    compared = (_clash(form[name]) for name in form.fields)
    return tuple(clash for clash in compared if clash)


def is_versioned(form) -> bool:
    """Does a posted form say which version it began from? Without one it is refused: it could overwrite newer text."""
    if form.data.get("version"):
        return True
    form.add_error(None, no_version_message())
    return False


def find_http_status(request, clashes) -> int:
    """The status of a form's page: as it is asked for, refused, or begun from another version."""
    if request.method != "POST":
        return 200
    return 409 if clashes and request.POST.get("version") else 422


def no_version_message() -> str:
    return _(
        "Nothing was saved: the form does not say which saved text it began from. Check the fields against the "
        "saved text and save again."
    )


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
