"""Entry keys: a second post of the same thing adds nothing; other words under a used key are another entry, and are not
lost."""

from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from builds.bench.models import Message


def key_of(model, key: UUID, entered: tuple) -> UUID:
    """The key an entry is kept under: its own, or, where that is another entry's, one made from it and what is said.

    `entered`: (field, value) of what makes two entries the same.
    """
    other = model.objects.filter(entry_key=key).exclude(**dict(entered)).exists()
    return uuid5(key, "\0".join(str(getattr(value, "pk", value)) for _name, value in entered)) if other else key


def used_before(typed: str) -> str:
    """What a page says that was sent already and comes back with something new, as after the browser's Back."""
    return _(
        "This page was used before and saved %(typed)s. What you typed now is not saved yet: save it again, and it "
        "is the next attempt."
    ) % {"typed": typed}


def add_message(snag, by, words: str, key: UUID) -> tuple[Message, bool]:
    """The message of this post, and whether it is new."""
    own = key_of(Message, key, (("snag", snag), ("by", by), ("words", words)))
    return Message.objects.get_or_create(entry_key=own, defaults={"snag": snag, "by": by, "words": words})
