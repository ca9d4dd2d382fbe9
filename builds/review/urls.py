from django.urls import path

from builds.review.views import build, dashboard, triage

app_name = "review"
urlpatterns = [
    path("builds/<int:pk>/", build.build, name="build"),
    path("builds/<int:pk>/charts/<str:kind>/", build.charts, name="charts"),
    path("builds/<int:pk>/concede/<int:check>/", build.concede, name="concede"),
    path("builds/<int:pk>/renew/", build.renew, name="renew"),
    path("builds/<int:pk>/revoke/", build.revoke, name="revoke"),
    path("builds/<int:pk>/deviations/<int:check>/", triage.deviation, name="deviation"),
    path("snags/<int:pk>/", triage.snag, name="snag"),
    path("<slug:kit>/<str:letter>/", dashboard.dashboard, name="dashboard"),
    path("<slug:kit>/<str:letter>/builds/", build.builds, name="builds"),
    path("<slug:kit>/<str:letter>/troubles/", triage.troubles, name="troubles"),
    path("<slug:kit>/<str:letter>/checks/<int:pk>/", dashboard.check, name="check"),
]
