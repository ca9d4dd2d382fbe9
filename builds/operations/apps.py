from django.apps import AppConfig


class OperationsConfig(AppConfig):
    name = "builds.operations"
    label = "operations"
