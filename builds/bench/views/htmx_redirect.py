"""Going to another page, with htmx or without."""

from django_htmx.http import HttpResponseClientRedirect


def htmx_redirect(request, answer):
    """Make htmx go to another page as a plain form would; anything that is not a redirect goes through."""
    if request.htmx and answer.status_code in (302, 303):
        return HttpResponseClientRedirect(answer["Location"])
    return answer
