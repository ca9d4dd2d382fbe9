"""Addresses are text: a control character in one means nothing here, and a NUL is refused by PostgreSQL with an error
of its own. So is a number by SQLite that no row can have."""

import re
import unicodedata
from urllib.parse import unquote_plus

from django.core.exceptions import BadRequest
from django.http import Http404

LARGEST = 2**63 - 1  # number of a row, in both databases
LONG_NUMBER = re.compile(r"(?:^|/)0*([1-9][0-9]{18,})(?=/|$)")  # a part of a path with as many digits as LARGEST


def plain_addresses(get_response):
    """Middleware: 404 for a path, 400 for a query, with a character that cannot be printed (but line ends and tabs in a
    query); 404 for a path with a number beyond every row's."""

    def asked(request):
        path = request.path_info
        if not path.isprintable() and _odd(path) or LONG_NUMBER.search(path) and _is_beyond_rows(path):
            raise Http404("Nothing is kept at this address.")
        query = request.META.get("QUERY_STRING", "")
        if query and _odd(unquote_plus(query), "\n\r\t"):
            raise BadRequest("The address holds a character that is no text.")
        return get_response(request)

    return asked


def _is_beyond_rows(path: str) -> bool:
    long = LONG_NUMBER.findall(path)
    return bool(long) and any(len(digits) > 19 or int(digits) > LARGEST for digits in long)


def _odd(text: str, allowed: str = "") -> bool:
    return any(unicodedata.category(c) in ("Cc", "Cs") and c not in allowed for c in text)
