from django.apps import AppConfig


class GuidesConfig(AppConfig):
    name = "builds.guides"
    label = "guides"

    def ready(self):
        from builds.accounts import closing
        from builds.guides import co_designers

        closing.OBSTACLES.append(co_designers.kits_without_owner)
        closing.FORGET.append(co_designers.forget)
        from builds.guides.circuit import fault_dictionary, stored  # noqa: F401  a worker must know its jobs
