"""Text of before Unicode: which code page its letters and signs make sense in; the designer may choose another."""

from django.utils.translation import gettext_lazy as _

# Where several fit alike, the first.
CODE_PAGES = {
    "cp1252": _("Windows, western"),
    "cp850": _("DOS, western (850)"),
    "cp437": _("DOS, American (437)"),
    "mac_roman": _("Old Macintosh"),
    "cp1250": _("Windows, central European"),
    "cp852": _("DOS, central European (852)"),
}
GUESSED = ("cp1252", "cp850", "cp437", "mac_roman")
_LETTERS = "äöüÄÖÜßéèêëàâáçñåøæœîïôûùíóúÉÈÀÇÅØÆŠšŽžŒŸÑÁÍÓÚ"
_USUAL = "äöüÄÖÜßéèàçåøñ"
_BEFORE_UNIT = "µμ"
_SIGNS = "±½¼¾°²³¹×÷§–—…•·„“”‘’‚»™®©€\u00a0"
_FRACTIONS = "½¼¾"
_BEHIND_FIGURE = "°²³¹"


def known_as(raw: bytes) -> str:
    """The code page in which most signs stand where such a sign may stand."""
    return max(GUESSED, key=lambda page: (_sense(raw, page), -GUESSED.index(page)))


def foreign_words(text: str, most: int = 6) -> list[str]:
    """What a person sees at once whether it is right: the words with letters or signs beyond ASCII."""
    return [*dict.fromkeys(word[:24] for word in text.split() if not word.isascii())][:most]


def read_again(text: str, was: str, page: str) -> str:
    """Text that was read in one code page, read in another. Raises UnicodeError where that has no such characters."""
    return text.encode(was).decode(page)


def _sense(raw: bytes, page: str) -> float:
    try:
        text = f" {raw.decode(page)} "
    except UnicodeDecodeError:
        return float("-inf")
    return sum(_worth(text[n - 1], text[n], text[n + 1]) for n in range(1, len(text) - 1) if text[n] > "\x7f")


def _worth(before: str, sign: str, after: str) -> float:
    """How likely a sign is between its neighbours."""
    if sign in _BEFORE_UNIT:
        return (
            3 if after in "FHAVWsm/ ,;\t\r\n" and (before.isdigit() or before in " ,;/\t+") or after.isdigit() else -2
        )
    if sign in "ΩΩ":
        return 3 if before in " kKM0123456789" else -2
    if sign in _FRACTIONS:
        return 4 if before in " \t;,/0123456789" and not after.isalnum() or after == "W" else -2
    if sign in _LETTERS:
        return _worth_of_letter(before, sign, after)
    if sign in _SIGNS:
        in_a_word = before.isalpha() and after.isalpha()
        behind = sign in _BEHIND_FIGURE and not (before.isdigit() or before in " ;,\t" or before.isalpha())
        return -3 if in_a_word else (0 if behind else 1)
    return -3


def _worth_of_letter(before: str, sign: str, after: str) -> float:
    """A letter belongs to a word, and a capital begins it or is among capitals."""
    beside = [c for c in (before, after) if c.isalpha()]
    if before.isdigit() or after.isdigit():
        return -3
    if not beside:
        return -1 if sign in "àÀØø" else -2
    jumps = (sign.isupper() and before.islower()) or (sign.islower() and after.isupper())
    return -2 if jumps else (2 if sign in _USUAL else 1)
