from django.urls import path

from builds.reports.views import archive, guide, papers, specification, summary, worksheet

app_name = "reports"
urlpatterns = [
    path("builds/<int:pk>/packing-slip.pdf", papers.packing_slip, name="packing-slip"),
    path("builds/<int:pk>/record.pdf", papers.build_record, name="build-record"),
    path("builds/<int:pk>/worksheet/", worksheet.page, name="worksheet"),
    path("builds/<int:pk>/worksheet.pdf", worksheet.pdf, name="worksheet-pdf"),
    path("<slug:kit>/<str:letter>/fault-summary/", summary.summary, name="summary"),
    path("<slug:kit>/<str:letter>/fault-summary.pdf", summary.pdf, name="pdf"),
    path("<slug:kit>/<str:letter>/fault-summary/stages/<slug:stage>/", summary.stage, name="stage"),
    path("<slug:kit>/<str:letter>/fault-summary/stages/<slug:stage>.pdf", summary.stage_pdf, name="stage-pdf"),
    path("builds/<int:pk>/parts.pdf", guide.build_parts, name="build-parts"),
    path("<slug:kit>/<str:letter>/parts.pdf", guide.parts, name="parts-pdf"),
    path("<slug:kit>/<str:letter>/bag-labels.pdf", guide.labels, name="bag-labels"),
    path("<slug:kit>/<str:letter>/guide.pdf", guide.pdf, name="guide-pdf"),
    path("<slug:kit>/<str:letter>/guide.html", guide.html, name="guide-html"),
    path("<slug:kit>/<str:letter>/readings.csv", summary.readings_csv, name="csv"),
    path("<slug:kit>/<str:letter>/changes.csv", summary.changes_csv, name="changes-csv"),
    path("<slug:kit>/<str:letter>/fault-summary.json", summary.as_json, name="json"),
    path("<slug:kit>/<str:letter>/specification/", specification.specification, name="specification"),
    path("<slug:kit>/<str:letter>/specification.pdf", specification.pdf, name="specification-pdf"),
    path("<slug:kit>/<str:letter>/specification.json", specification.as_json, name="specification-json"),
    path("<slug:kit>/<str:letter>/archive/", archive.archive, name="archive"),
    path("<slug:kit>/<str:letter>/archive/make/", archive.make, name="make-archive"),
    path("<slug:kit>/<str:letter>/archive.zip", archive.fetch, name="fetch-archive"),
]
