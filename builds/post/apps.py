from django.apps import AppConfig


class PostConfig(AppConfig):
    name = "builds.post"
    label = "post"

    def ready(self):
        from builds.post import sending  # noqa: F401  the kind of job it registers
