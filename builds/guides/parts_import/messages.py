"""Sentences for what is wrong with a row of a parts list."""

from django.utils.translation import gettext as _

from builds.ui.messages.errors import message_for
from checks.errors import ChecksError

_SENTENCES = {
    "no-reference": lambda p: _("The reference is missing. Write one, such as R1."),
    "reference": lambda p: _("“%(typed)s” is not a reference. Write R1, or several as R1–R4, R7.") % p,
    "range": lambda p: _("“%(typed)s” is not a range. Write the first and the last, such as R1–R4.") % p,
    "ref-twice": lambda p: _("%(ref)s is already in row %(row)d. Use each reference once.") % p,
    "unknown-kind": lambda p: (
        _("The reference %(ref)s does not show the kind of part. Give it in a column of its own.") % p
    ),
    "unknown-valve": lambda p: (
        _("The valve type “%(type)s” is not known. Give its kind and base: for example pentode and B9A.") % p
    ),
    "triode-pentode": lambda p: (
        _(
            "%(type)s holds a triode and a pentode. List it as two parts with the same base, such as %(ref)sT of the "
            "kind triode and %(ref)sP of the kind pentode."
        )
        % p
    ),
    "twice": lambda p: _("Two figures here could be the same thing: %(one)s and %(other)s.") % p,
    "no-unit": lambda p: (
        _("“%(typed)s” has no unit. Write it with one, such as %(typed)sn or %(typed)su.") % p
        if p["wanted"] == "F"
        else _("“%(typed)s” has no unit. Write it with one, such as %(typed)s %(wanted)s.") % p
    ),
    "several-in-one": lambda p: (
        _("“%(typed)s” is %(count)s parts in one. Give each a reference, such as %(ref)sa and %(ref)sb.") % p
    ),
    "sections-differ": lambda p: _("%(one)s and %(other)s look like one valve, but their types differ.") % p,
    "share-or-percent": lambda p: (
        _("“%(typed)s” could be a share or a percentage. Write it with the sign, such as 5%%.") % p
    ),
    "two-ways": lambda p: (
        _(
            "“%(typed)s” could be a decimal or thousands. Write it so that it can be read in one way only, such as 1k "
            "or 1.0."
        )
        % p
    ),
    "cell-date": lambda p: (
        _("The spreadsheet turned this cell into a date: “%(typed)s”. Enter it again as text, such as 4R7 or 4k7.") % p
    ),
    "exponent": lambda p: (
        _("“%(typed)s” can be read as %(ohms)s or as a number with an exponent. Write it as %(ohms)s, or as kΩ or MΩ.")
        % p
    ),
    "digits": lambda p: (
        _("“%(typed)s” may be the code printed on a capacitor of %(farads)s. Write the value with its unit.") % p
    ),
    "cell-error": lambda p: (
        _("The spreadsheet shows an error here: “%(typed)s”. Correct the formula, or enter the value.") % p
    ),
    "which-unit": lambda p: (
        _(
            "The column is for several units (%(units)s), and this row does not show which. Write “%(typed)s” "
            "with its unit."
        )
        % p
    ),
    "unknown-unit": lambda p: _("“%(typed)s” is not a unit. Write one such as Ω, kΩ, µF or nF, or leave it empty.") % p,
    "quantity-twice": lambda p: _("The row gives two quantities: %(one)s and %(other)s. Leave one of them out.") % p,
    "quantity-of-several": lambda p: (
        _("This row has %(count)d references, but a quantity of %(quantity)d. Write %(count)d, or add the references.")
        % p
    ),
    "milli-or": lambda p: (
        _("“%(typed)s” can be read in two ways. Write it as %(one)s or as %(other)s, whichever it is.") % p
    ),
    "quantity": lambda p: _("“%(typed)s” is not a quantity. Write a whole number from 1 to 999.") % p,
    "one-end": lambda p: _("Only one end is given. Give both points, or neither."),
}


def part_error(error: ChecksError) -> str:
    """In the reader's language."""
    make = _SENTENCES.get(error.code)
    return make(error.params) if make else message_for(error)
