"""Addresses that only take a form."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _


def explain_refused_methods(get_response):
    """Middleware: whoever opens an address that only takes a form, as after a sign-in that came in between, reads what
    to do. A program gets the bare answer."""

    def respond(request):
        answer = get_response(request)
        is_read = request.method == "GET" and "text/html" in request.headers.get("Accept", "")
        return _page(request, answer["Allow"]) if answer.status_code == 405 and is_read else answer

    return respond


def _page(request, allowed: str) -> HttpResponse:
    context = {
        "heading": _("Nothing to show here"),
        "words": _("This address only accepts a form. Go back, reload the page and use its button."),
    }
    page = render(request, "accounts/error.html", context, status=405)
    page["Allow"] = allowed  # RFC 9110, 15.5.6
    return page
