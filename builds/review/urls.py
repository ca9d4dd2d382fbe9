from django.urls import path

from builds.review.views import release
from builds.review.views.decide import faults, findings, problems, snags
from builds.review.views.revise import changes, errata
from builds.review.views.watch import (
    build,
    builds,
    check,
    correlations,
    dashboard,
    invitations,
    moves,
    photos,
    point_map,
    programme,
    recordings,
    valves,
)

app_name = "review"
REVISION = "<slug:kit>/<str:letter>"
urlpatterns = [
    # one build
    path("builds/<int:pk>/", build.build, name="build"),
    path("builds/<int:pk>/charts/<str:kind>/", build.charts, name="charts"),
    path("builds/<int:pk>/concede/<int:check>/", build.concede, name="concede"),
    path("builds/<int:pk>/valves/", valves.valves, name="build-valves"),
    path("builds/<int:pk>/valves/take-back/", valves.take_back, name="take-back-valve-test"),
    path("builds/<int:pk>/renew/", invitations.renew, name="renew"),
    path("builds/<int:pk>/remove-builder/", invitations.remove_builder, name="remove-builder"),
    path("builds/<int:pk>/revoke/", invitations.revoke, name="revoke"),
    path("builds/<int:pk>/move/<str:letter>/", moves.offer, name="offer-move"),
    path("builds/<int:pk>/deviations/<int:check>/", problems.deviation, name="deviation"),
    path("builds/<int:pk>/faults/confirm/", faults.confirm, name="confirm-fault"),
    path("builds/<int:pk>/faults/<int:confirmed>/take-back/", faults.take_back, name="take-back-fault"),
    # one snag
    path("snags/<int:pk>/", snags.snag, name="snag"),
    path("snags/<int:pk>/merge/", snags.merge, name="merge"),
    path("snags/<int:pk>/take-apart/", snags.unmerge, name="take-apart"),
    # watch the builds
    path("", programme.programmes, name="programmes"),
    path("<slug:kit>/programme/", programme.programme, name="programme"),
    path(f"{REVISION}/", dashboard.dashboard, name="dashboard"),
    path(f"{REVISION}/builds/", builds.builds, name="builds"),
    path(f"{REVISION}/checks/<int:pk>/", check.check, name="check"),
    path(f"{REVISION}/map/", point_map.point_map, name="map"),
    path(f"{REVISION}/photos/", photos.photos, name="photos"),
    path(f"{REVISION}/photos/<slug:stage>/<slug:step>/", photos.step_photos, name="step-photos"),
    path(f"{REVISION}/recordings/", recordings.recordings, name="recordings"),
    path(f"{REVISION}/recordings/add/", recordings.add_recordings, name="add-recordings"),
    path(f"{REVISION}/recordings/reference/", recordings.reference, name="reference"),
    path(f"{REVISION}/batches/", correlations.correlations, name="batches"),
    path(f"{REVISION}/batches/<int:pk>/take-away/", correlations.delete_batch, name="take-away-batch"),
    # decide
    path(f"{REVISION}/problems/", problems.problems, name="problems"),
    path(f"{REVISION}/troubles/", problems.old_address, name="troubles"),
    path(f"{REVISION}/faults/", faults.faults, name="faults"),
    path(f"{REVISION}/findings/", findings.findings, name="findings"),
    path(f"{REVISION}/findings/checks/<int:pk>/", findings.decide_check, name="decide-check"),
    path(f"{REVISION}/findings/snags/<int:pk>/", findings.decide_snag, name="decide-snag"),
    # revise the guide
    path(f"{REVISION}/coverage/", faults.coverage, name="coverage"),
    path(f"{REVISION}/coverage/again/", faults.again, name="faults-again"),
    path(f"{REVISION}/errata/", errata.errata, name="errata"),
    path(f"{REVISION}/errata/<int:pk>/withdraw/", errata.withdraw, name="withdraw-erratum"),
    path(f"{REVISION}/halts/", errata.halt, name="halt"),
    path(f"{REVISION}/halts/<int:pk>/lift/", errata.lift, name="lift"),
    path(f"{REVISION}/changes/", changes.changes, name="changes"),
    # release
    path(f"{REVISION}/release/", release.release, name="release"),
]
