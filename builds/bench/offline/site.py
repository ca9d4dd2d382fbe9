"""What installs the site on a phone and keeps its pages at hand: the manifest, the worker and the page of what is not
sent."""

from functools import lru_cache
from hashlib import sha256
from json import dumps
from pathlib import Path

from django.conf import settings
from django.http import HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from builds.accounts.access import anyone

PAPER, NIGHT = "#f6f1e6", "#17130e"  # --paper of app.css, by day and by night
STATIC = Path(settings.BASE_DIR) / "static"
SCRIPTS = STATIC / "offline"
ICONS = (("icon-192", "192x192", "any"), ("icon-512", "512x512", "any"), ("maskable-512", "512x512", "maskable"))


@anyone
@require_safe
def manifest(request):
    icons = [
        {"src": static(f"icons/{name}.png"), "sizes": sizes, "type": "image/png", "purpose": purpose}
        for name, sizes, purpose in ICONS
    ]
    shown = {
        "name": _("Kit builds"),
        "short_name": _("Kit builds"),
        "description": _("Your kit, stage by stage: what to measure, and what the reading means."),
        "id": "/",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": PAPER,
        "lang": request.LANGUAGE_CODE,
        "icons": icons,
    }
    return JsonResponse(shown, content_type="application/manifest+json")


@anyone
@require_safe
def worker(request):
    """The worker's script, with the names and a version of all it keeps: a new file anywhere is a new worker."""
    answer = HttpResponse(_heading() + (SCRIPTS / "worker.js").read_text(), content_type="text/javascript")
    answer["Cache-Control"] = "no-cache"
    return answer


def _heading() -> str:
    addresses = [
        static(name)
        for name in ("app.css", "vendor/htmx.min.js", "bench.js", "grid-entry.js", "offline/start.js", "icon.svg")
    ]
    addresses += [f"{settings.STATIC_URL}offline/{path.name}" for path in _scripts()]
    known = {
        "version": _version(),
        "kept": addresses,
        "notSent": reverse("offline:not-sent"),
        "words": reverse("offline:words"),
        "static": settings.STATIC_URL,
    }
    return f"const SITE = {dumps(known)};\n"


def _scripts() -> list[Path]:
    return sorted(path for path in SCRIPTS.glob("*.js") if path.name != "worker.js")


@lru_cache(maxsize=1)
def _version() -> str:
    digest = sha256()
    for path in [STATIC / "app.css", STATIC / "bench.js", STATIC / "grid-entry.js", SCRIPTS / "worker.js", *_scripts()]:
        digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


@anyone
@require_safe
def show_unsent(request):
    """The page of what this phone keeps, and of no connection. Nobody's name is on it: the worker keeps it for all."""
    return render(request, "bench/offline/not-sent.html")


@anyone
@require_safe
def script_texts(request):
    """The sentences of the scripts, apart from the pages, which are light without them."""
    answer = render(request, "bench/offline/_words.html")
    answer["Cache-Control"] = "private, max-age=300"
    return answer


@anyone
@never_cache
@require_safe
def connected(request):
    """Who is signed in, for a phone about to send what it kept; the token comes as a cookie."""
    get_token(request)
    return JsonResponse({"person": request.user.pk if request.user.is_authenticated else None})
