from django.urls import path

from builds.notifications import views

app_name = "notifications"
urlpatterns = [path("", views.mail, name="mail"), path("stop/<str:token>/", views.stop, name="stop")]
