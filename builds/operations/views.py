"""Pages for machines that watch the site, and for the person who runs it."""

import hmac

from django.conf import settings
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from builds.accounts.access import anyone, signed_in
from builds.operations import health

LOCAL = ("127.0.0.1", "::1")
OPEN_TEXT = "application/openmetrics-text; version=1.0.0; charset=utf-8"


@anyone
@require_safe
@never_cache
def alive(request):
    """The process answers. It asks nothing of the database: a restart would not mend that."""
    return HttpResponse("alive\n", content_type="text/plain")


@anyone
@require_safe
@never_cache
def ready(request):
    """May requests be sent here? Codes only: this page is open to all."""
    troubles = health.find_problems()
    return JsonResponse({"ready": not troubles, "troubles": troubles}, status=503 if troubles else 200)


@anyone
@require_safe
@never_cache
def metrics(request):
    """For this machine, and for who knows METRICS_TOKEN."""
    token = request.headers.get("Authorization", "").removeprefix("Bearer ")
    knows = bool(settings.METRICS_TOKEN) and hmac.compare_digest(token.encode(), settings.METRICS_TOKEN.encode())
    if not knows and request.META.get("REMOTE_ADDR") not in LOCAL:
        raise Http404
    return HttpResponse(health.metrics(), content_type=OPEN_TEXT)


@signed_in
@require_safe
def status(request):
    if not request.user.runs_site:
        raise Http404
    return render(request, "operations/status.html", {"status": health.status(), "troubles": health.find_problems()})
