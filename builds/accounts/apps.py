from django.apps import AppConfig


class AccountsConfig(AppConfig):
    name = "builds.accounts"
    label = "accounts"
