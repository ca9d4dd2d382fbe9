from django.apps import AppConfig


class NotificationsConfig(AppConfig):
    name = "builds.notifications"
    label = "notifications"

    def ready(self):
        from builds.notifications import sending  # noqa: F401  the kind of job it registers
