from django.urls import path

from builds.operations import views
from builds.operations.api import reading, tokens, writing

app_name = "operations"
_REVISION = "api/v1/kits/<slug:kit>/<str:letter>"
urlpatterns = [
    path("healthz", views.alive, name="alive"),
    path("readyz", views.ready, name="ready"),
    path("metrics", views.metrics, name="metrics"),
    path("status/", views.status, name="status"),
    path("account/tokens/", tokens.tokens, name="tokens"),
    path("account/tokens/<int:pk>/withdraw/", tokens.withdraw, name="withdraw-token"),
    path("api/v1/openapi.json", reading.document, name="api-document"),
    path("api/v1/kits", reading.kits, name="api-kits"),
    path("api/v1/builds", reading.builds, name="api-builds"),
    path("api/v1/builds/<int:pk>/readings", reading.readings, name="api-readings"),
    path(f"{_REVISION}/readings", reading.revision_readings, name="api-revision-readings"),
    path(f"{_REVISION}/findings", reading.findings, name="api-findings"),
    path(
        "api/v1/builds/<int:pk>/stages/<slug:stage>/checks/<slug:check>/readings",
        writing.post,
        name="api-post-reading",
    ),
]
