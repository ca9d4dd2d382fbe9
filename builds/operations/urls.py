from django.urls import path

from builds.operations import views

app_name = "operations"
urlpatterns = [
    path("healthz", views.alive, name="alive"),
    path("readyz", views.ready, name="ready"),
    path("metrics", views.metrics, name="metrics"),
    path("status/", views.status, name="status"),
]
