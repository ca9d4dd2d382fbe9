from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "builds.reports"
    label = "reports"

    def ready(self):
        from builds.reports.archive import storing  # noqa: F401  a worker must know its jobs
