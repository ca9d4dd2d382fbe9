from django.apps import AppConfig


class OperationsConfig(AppConfig):
    name = "builds.operations"
    label = "operations"

    def ready(self):
        from builds.accounts import closing, devices
        from builds.operations.models import withdraw_tokens

        devices.OTHER_WAYS.append(withdraw_tokens)
        closing.FORGET.append(withdraw_tokens)
