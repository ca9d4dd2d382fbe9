from django.apps import AppConfig


class BenchConfig(AppConfig):
    name = "builds.bench"
    label = "bench"

    def ready(self):
        from builds.bench.valves import own_valves  # noqa: F401  a worker must know its jobs
