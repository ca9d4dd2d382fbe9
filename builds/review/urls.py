from django.urls import path

from builds.review.views import batches, build, dashboard, errata, faults, loop, moves, programme, snags, triage

app_name = "review"
urlpatterns = [
    path("builds/<int:pk>/", build.build, name="build"),
    path("builds/<int:pk>/charts/<str:kind>/", build.charts, name="charts"),
    path("builds/<int:pk>/concede/<int:check>/", build.concede, name="concede"),
    path("builds/<int:pk>/renew/", build.renew, name="renew"),
    path("builds/<int:pk>/revoke/", build.revoke, name="revoke"),
    path("builds/<int:pk>/deviations/<int:check>/", triage.deviation, name="deviation"),
    path("builds/<int:pk>/move/<str:letter>/", moves.offer, name="offer-move"),
    path("snags/<int:pk>/", snags.snag, name="snag"),
    path("snags/<int:pk>/merge/", snags.merge, name="merge"),
    path("snags/<int:pk>/take-apart/", snags.take_apart, name="take-apart"),
    path("", programme.programmes, name="programmes"),
    path("<slug:kit>/programme/", programme.programme, name="programme"),
    path("<slug:kit>/<str:letter>/release/", programme.release, name="release"),
    path("<slug:kit>/<str:letter>/", dashboard.dashboard, name="dashboard"),
    path("builds/<int:pk>/faults/confirm/", faults.confirm, name="confirm-fault"),
    path("builds/<int:pk>/faults/<int:confirmed>/take-back/", faults.take_back, name="take-back-fault"),
    path("<slug:kit>/<str:letter>/batches/", batches.batches, name="batches"),
    path("<slug:kit>/<str:letter>/batches/<int:pk>/take-away/", batches.take_away, name="take-away-batch"),
    path("<slug:kit>/<str:letter>/findings/", loop.findings, name="findings"),
    path("<slug:kit>/<str:letter>/findings/checks/<int:pk>/", loop.decide_check, name="decide-check"),
    path("<slug:kit>/<str:letter>/findings/snags/<int:pk>/", loop.decide_snag, name="decide-snag"),
    path("<slug:kit>/<str:letter>/errata/", errata.errata, name="errata"),
    path("<slug:kit>/<str:letter>/errata/<int:pk>/withdraw/", errata.withdraw, name="withdraw-erratum"),
    path("<slug:kit>/<str:letter>/halts/", errata.halt, name="halt"),
    path("<slug:kit>/<str:letter>/halts/<int:pk>/lift/", errata.lift, name="lift"),
    path("<slug:kit>/<str:letter>/changes/", loop.changes, name="changes"),
    path("<slug:kit>/<str:letter>/faults/", faults.faults, name="faults"),
    path("<slug:kit>/<str:letter>/coverage/", faults.coverage, name="coverage"),
    path("<slug:kit>/<str:letter>/coverage/again/", faults.again, name="faults-again"),
    path("<slug:kit>/<str:letter>/builds/", build.builds, name="builds"),
    path("<slug:kit>/<str:letter>/troubles/", triage.troubles, name="troubles"),
    path("<slug:kit>/<str:letter>/checks/<int:pk>/", dashboard.check, name="check"),
]
