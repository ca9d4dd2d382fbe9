from django.urls import path

from builds.review.views import builds, dashboard, triage

app_name = "review"
_rev = "<slug:kit>/<str:letter>"
_build = f"{_rev}/builds/<int:pk>"
urlpatterns = [
    path(f"{_rev}/", dashboard.dashboard, name="dashboard"),
    path(f"{_rev}/checks/<slug:stage>/<slug:key>/", dashboard.check, name="check"),
    path(f"{_rev}/builds/", builds.builds, name="builds"),
    path(f"{_build}/", builds.build, name="build"),
    path(f"{_build}/renew/", builds.renew, name="renew"),
    path(f"{_build}/revoke/", builds.revoke, name="revoke"),
    path(f"{_build}/password/", builds.password, name="password"),
    path(f"{_build}/checks/<slug:stage>/<slug:key>/", triage.deviation, name="deviation"),
    path(f"{_build}/checks/<slug:stage>/<slug:key>/concede/", builds.concede, name="concede"),
    path(f"{_build}/snags/<int:snag>/", triage.snag, name="snag"),
    path(f"{_build}/snags/<int:snag>/answer/", triage.answer, name="answer"),
    path(f"{_build}/snags/<int:snag>/close/", triage.close, name="close"),
    path(f"{_rev}/troubles/", triage.trouble_list, name="troubles"),
]
