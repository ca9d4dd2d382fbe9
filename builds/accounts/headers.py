"""Headers of every answer: what a shared phone, a proxy or another site must not keep or read."""

from builds.ui.compression import EVERY_PAGE

POLICY = "camera=(self), microphone=(self), geolocation=(), payment=(), usb=(), browsing-topics=()"


def closed_headers(get_response):
    """Middleware, before all others, so that what they refuse themselves has these too: no other site may embed
    anything of this one."""

    def respond(request):
        answer = get_response(request)
        answer.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        answer.setdefault("Permissions-Policy", POLICY)
        answer.setdefault("X-Frame-Options", "DENY")
        return answer

    return respond


def private_headers(get_response):
    """Middleware: signed-in pages are stored nowhere (a service worker keeps its own cache by its own rules)."""

    def respond(request):
        answer = get_response(request)
        user = getattr(request, "user", None)
        if user is not None and user.is_authenticated:
            answer.setdefault("Cache-Control", EVERY_PAGE)
        return answer

    return respond
