"""Compressed pages, and which are not.

A page that holds a secret and text of a stranger's choosing gives the secret away by its compressed length, a letter a
request, to whoever can make the browser ask for it over and over and watch the line (the attack known as BREACH,
published 2013). Four things stand against that:

- a request that the browser says another site made (Sec-Fetch-Site) is answered uncompressed; where a browser does not
  say, such a request carries no session cookie (SameSite=Lax) unless the person is led to the page itself;
- the one secret that pages repeat, the CSRF token, is masked anew by Django in every answer;
- the other secrets (links of invitations, tokens of the interface) are shown once, in answers marked `no-store`, and
  those are never compressed;
- Django adds up to 100 random bytes to each compressed answer, so that more requests are
  needed.
"""

from django.middleware.gzip import GZipMiddleware

KINDS = ("text/", "application/json", "application/manifest+json", "application/javascript", "image/svg+xml")
EVERY_PAGE = "no-store"  # what every signed-in page carries; a view that shows a secret says more
OWN = ("", "same-origin", "none")  # "none": typed, bookmarked, or scanned


def holds_a_secret(response) -> bool:
    header = response.get("Cache-Control", "")
    return "no-store" in header and header != EVERY_PAGE


def asked_by_another_site(request) -> bool:
    return request.headers.get("Sec-Fetch-Site", "") not in OWN


class CompressPages(GZipMiddleware):
    def process_response(self, request, response):
        is_text = response.get("Content-Type", "").startswith(KINDS)
        if not is_text or holds_a_secret(response) or asked_by_another_site(request):
            return response
        return super().process_response(request, response)
