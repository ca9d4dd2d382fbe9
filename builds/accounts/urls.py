from django.urls import path

from builds.accounts import aids, password_reset, preferences, views

app_name = "accounts"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("glossary/", views.glossary, name="glossary"),
    path("device/", aids.aids, name="aids"),
    path("safety/", views.safety, name="safety"),
    path("password/forgotten/", password_reset.forgotten, name="forgotten"),
    path("password/sent/", password_reset.forgotten_sent, name="forgotten-sent"),
    path("invitation/<str:token>/", views.invitation, name="invitation"),
    path("settings/", preferences.preferences, name="preferences"),
    path("meters/", views.meters, name="meters"),
    path("meters/<int:pk>/retire/", views.retire_meter, name="retire-meter"),
]
