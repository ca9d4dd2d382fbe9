from django.apps import AppConfig


class GuidesConfig(AppConfig):
    name = "builds.guides"
    label = "guides"
