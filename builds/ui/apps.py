from django.apps import AppConfig


class UiConfig(AppConfig):
    """Formatting, drawings and template tags that every page shares. Has no models."""

    name = "builds.ui"
    label = "ui"
