from django.urls import path

from builds.reports import views

app_name = "reports"
urlpatterns = [
    path("builds/<int:pk>/packing-slip.pdf", views.packing_slip, name="packing-slip"),
    path("builds/<int:pk>/record.pdf", views.build_record, name="build-record"),
    path("<slug:kit>/<str:letter>/fault-summary/", views.summary, name="summary"),
    path("<slug:kit>/<str:letter>/fault-summary.pdf", views.pdf, name="pdf"),
    path("<slug:kit>/<str:letter>/readings.csv", views.readings_csv, name="csv"),
    path("<slug:kit>/<str:letter>/fault-summary.json", views.as_json, name="json"),
]
