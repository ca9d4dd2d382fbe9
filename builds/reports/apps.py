from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "builds.reports"
    label = "reports"
