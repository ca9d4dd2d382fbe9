from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "builds.jobs"
    label = "jobs"
