"""Entry keys, the one rule of every form that adds something.

The same key with the same content is the same entry sent twice: the answer is that of the first post and nothing is
added. The same key with other content, of another build or by another person, is something new in a page that was used
before, as after the browser's Back: nothing is added and nothing lost; what was typed comes back under a new key.
"""

from functools import partial
from uuid import UUID, uuid4

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _

from builds.ui.errors import SiteError


class UsedKey(SiteError):
    """The key belongs to another entry. `saved`: what that entry says, where it is the reader's own."""

    def __init__(self, saved: str = ""):
        super().__init__(used_before(saved), argument="entry_key", code="used")


class EntryKeyField(forms.UUIDField):
    """A page has a key for each of its forms: none of them carries an id, which would stand there twice."""

    hidden_widget = partial(forms.HiddenInput, {"id": False})  # type: ignore[assignment]  # called as a class is


class EntryForm(forms.Form):
    """A form that adds something. `asks_at` names the field beside which a used page is explained."""

    entry_key = EntryKeyField(widget=forms.HiddenInput, initial=uuid4)
    asks_at: str | None = None

    def ask_again(self, error: UsedKey) -> None:
        """What was typed comes back under a new key: saved once more, it is added."""
        self.renew_key()
        self.add_error(self.asks_at, forms.ValidationError(str(error), code=error.code))

    def renew_key(self) -> None:
        """The same form with a new key: whatever is sent next is a new entry."""
        data = QueryDict(mutable=True)
        data.update(self.data)
        data[self.add_prefix("entry_key")] = str(uuid4())
        self.data = data


def add_once(model, key: UUID, entered: dict, **more) -> tuple:
    """(the row of this post, whether it is new). `entered` is what makes two entries the same. Raises UsedKey."""
    row, is_new = model.objects.get_or_create(entry_key=key, defaults={**entered, **more})
    if not is_new:
        refuse_other(row, entered)
    return row, is_new


def sent_before(model, key: UUID | None, entered: dict):
    """The row that an earlier post of the same entry made, None where there is none. Raises UsedKey."""
    row = model.objects.filter(entry_key=key).first() if key else None
    if row is not None:
        refuse_other(row, entered)
    return row


def refuse_other(row, entered: dict) -> None:
    """Raises UsedKey where `row`, found under the key of an entry, says something else."""
    if all(getattr(row, name) == value for name, value in entered.items()):
        return
    owner = next((name for name in ("build", "build_id", "snag") if name in entered), None)
    raise UsedKey(_saved(row) if owner is None or getattr(row, owner) == entered[owner] else "")


def _saved(row) -> str:
    """What an entry says, in few words."""
    return getattr(row, "typed", "") or (getattr(row, "words", "") or str(row))[:60]


def used_before(saved: str) -> str:
    if not saved:
        return _("This page was used before. What you typed now is not saved yet. Save it again.")
    return _("This page was used before and saved %(saved)s. What you typed now is not saved yet. Save it again.") % {
        "saved": saved
    }


def posted_key(posted, name: str = "entry_key") -> UUID | None:
    """The entry key of a post before its form is judged."""
    try:
        return UUID(posted.get(name, ""))
    except ValueError:
        return None
