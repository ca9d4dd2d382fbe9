from django.apps import AppConfig


class ReviewConfig(AppConfig):
    name = "builds.review"
    label = "review"
