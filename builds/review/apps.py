from django.apps import AppConfig


class ReviewConfig(AppConfig):
    name = "builds.review"
    label = "review"

    def ready(self):
        from builds.guides.signals import revision_issued
        from builds.review.loop.answers import tell_builders

        def tell(sender, revision, **more):
            tell_builders(revision)
        revision_issued.connect(tell, weak=False, dispatch_uid="tell builders")
