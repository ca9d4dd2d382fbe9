from django.apps import AppConfig


class BenchConfig(AppConfig):
    name = "builds.bench"
    label = "bench"
