"""Headers of every answer: what a shared phone, a proxy or another site must not keep or read."""

from builds.ui.compression import EVERY_PAGE

POLICY = "camera=(self), microphone=(self), geolocation=(), payment=(), usb=(), browsing-topics=()"


def private_headers(get_response):
    """Middleware, before all others, so that what they refuse themselves has these too: signed-in pages are stored
    nowhere (a service worker keeps its own cache by its own rules), and no other site may embed anything of it."""

    def respond(request):
        answer = get_response(request)
        answer.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        answer.setdefault("Permissions-Policy", POLICY)
        answer.setdefault("X-Frame-Options", "DENY")
        user = getattr(request, "user", None)  # none where a refusal came before anybody was looked up
        if user is not None and user.is_authenticated:
            answer.setdefault("Cache-Control", EVERY_PAGE)
        return answer

    return respond
