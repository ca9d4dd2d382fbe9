"""Addresses that belong to the whole site rather than to a build: its worker may only care for what lies below it."""

from django.urls import path

from builds.bench.offline import site

app_name = "offline"
urlpatterns = [
    path("worker.js", site.worker, name="worker"),
    path("site.webmanifest", site.manifest, name="manifest"),
    path("not-sent/", site.show_unsent, name="not-sent"),
    path("offline-words/", site.script_texts, name="words"),
    path("connected/", site.connected, name="connected"),
]
