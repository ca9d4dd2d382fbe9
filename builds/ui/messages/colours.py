"""The colours of resistor bands (IEC 60062) in the reader's language."""

from django.utils.translation import pgettext


def colour_word(name: str) -> str:
    """The colour in words; hands back what is no colour of a band."""
    words = {
        "black": pgettext("band colour", "black"),
        "brown": pgettext("band colour", "brown"),
        "red": pgettext("band colour", "red"),
        "orange": pgettext("band colour", "orange"),
        "yellow": pgettext("band colour", "yellow"),
        "green": pgettext("band colour", "green"),
        "blue": pgettext("band colour", "blue"),
        "violet": pgettext("band colour", "violet"),
        "grey": pgettext("band colour", "grey"),
        "white": pgettext("band colour", "white"),
        "gold": pgettext("band colour", "gold"),
        "silver": pgettext("band colour", "silver"),
        "pink": pgettext("band colour", "pink"),
    }
    return words.get(name, name)
