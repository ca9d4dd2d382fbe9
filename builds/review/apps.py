from django.apps import AppConfig


class ReviewConfig(AppConfig):
    name = "builds.review"
    label = "review"

    def ready(self):
        from builds.accounts import password_links
        from builds.guides.signals import revision_issued
        from builds.review import demo  # noqa: F401  a worker must know its job
        from builds.review.changes.record import record_changes
        from builds.review.password_links import why_no_password_link

        password_links.OBSTACLES.append(why_no_password_link)

        def keep(sender, revision, **more):
            record_changes(revision)

        revision_issued.connect(keep, weak=False, dispatch_uid="write the change list down")
