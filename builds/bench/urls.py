from django.urls import path

from builds.bench.views import build, charts, check, errata, extras, files, meter, moves, photos, safe, snags, stage, valves

app_name = "bench"
urlpatterns = [
    path("", build.builds, name="builds"),
    path("<int:pk>/", build.build, name="build"),
    path("<int:pk>/settings/", build.settings, name="settings"),
    path("<int:pk>/end-sitting/", build.end_sitting, name="end-sitting"),
    path("<int:pk>/finish/", build.finish, name="finish"),
    path("<int:pk>/errata/<int:erratum>/confirm/", errata.confirm, name="confirm-erratum"),
    path("<int:pk>/stages/<slug:key>/errata/", errata.errata, name="errata"),
    path("<int:pk>/meter-check/", meter.meter_check, name="meter-check"),
    path("<int:pk>/extra/<slug:stage>/<slug:check>/", extras.extra, name="extra"),
    path("<int:pk>/valves/", valves.fitted, name="valves"),
    path("<int:pk>/move/", moves.offer, name="move"),
    path("<int:pk>/move/take/", moves.take, name="take-move"),
    path("<int:pk>/move/decline/", moves.decline, name="decline-move"),
    path("<int:pk>/swaps/<int:swap>/", moves.swapped, name="swapped"),
    path("<int:pk>/make-safe/", safe.make_safe, name="make-safe"),
    path("<int:pk>/stop/", safe.stop, name="stop"),
    path("<int:pk>/charts/<str:kind>/", charts.charts, name="charts"),
    path("<int:pk>/photos/<int:photo>/<str:size>/", files.photo, name="photo"),
    path("<int:pk>/pictures/<str:name>", files.picture, name="picture"),
    path("<int:pk>/snags/<int:snag>/", snags.snag, name="snag"),
    path("<int:pk>/stages/<slug:key>/", stage.stage, name="stage"),
    path("<int:pk>/stages/<slug:key>/cautions/", stage.cautions, name="cautions"),
    path("<int:pk>/stages/<slug:key>/snags/new/", snags.new_snag, name="new-snag"),
    path("<int:pk>/stages/<slug:key>/steps/<slug:step>/tick/", stage.tick, name="tick"),
    path("<int:pk>/stages/<slug:key>/steps/<slug:step>/photo/", photos.step, name="add-photo"),
    path("<int:pk>/stages/<slug:key>/photo/", photos.stage, name="add-stage-photo"),
    path("<int:pk>/stages/<slug:key>/checks/<slug:check>/photo/", photos.check, name="add-check-photo"),
    path("<int:pk>/stages/<slug:key>/checks/<slug:check>/", check.check, name="check"),
    path("<int:pk>/stages/<slug:key>/checks/<slug:check>/readings/", check.reading, name="reading"),
]
