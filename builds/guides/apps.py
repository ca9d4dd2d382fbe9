from django.apps import AppConfig


class GuidesConfig(AppConfig):
    name = "builds.guides"
    label = "guides"

    def ready(self):
        from builds.guides.circuit import fault_dictionary, stored  # noqa: F401  a worker must know its jobs
