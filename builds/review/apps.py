from django.apps import AppConfig


class ReviewConfig(AppConfig):
    name = "builds.review"
    label = "review"

    def ready(self):
        from builds.guides.signals import revision_issued
        from builds.review.changes.record import write_down

        def keep(sender, revision, **more):
            write_down(revision)

        revision_issued.connect(keep, weak=False, dispatch_uid="write the change list down")
