"""Addresses of the site. Each area belongs to one app."""

from django.urls import include, path

from builds.accounts.views import home

urlpatterns = [
    path("", home, name="home"),
    path("", include("builds.accounts.urls")),
    path("", include("builds.bench.offline.urls")),
    path("", include("builds.operations.urls")),
    path("builds/", include("builds.bench.urls")),
    path("kits/", include("builds.guides.urls")),
    path("review/", include("builds.review.urls")),
    path("mail/", include("builds.notifications.urls")),
    path("reports/", include("builds.reports.urls")),
]

handler400 = "builds.accounts.views.bad_request"
handler403 = "builds.accounts.views.refused"
handler404 = "builds.accounts.views.not_found"
handler500 = "builds.accounts.views.broken"
