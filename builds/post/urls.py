from django.urls import path

from builds.post import views

app_name = "post"
urlpatterns = [path("", views.mail, name="mail"), path("stop/<str:token>/", views.stop, name="stop")]
