from django.apps import AppConfig


class NotificationsConfig(AppConfig):
    name = "builds.notifications"
    label = "notifications"

    def ready(self):
        from builds.accounts import closing
        from builds.notifications.forgetting import forget_mail

        closing.FORGET.append(forget_mail)
        from builds.notifications import sending  # noqa: F401  the kind of job it registers
