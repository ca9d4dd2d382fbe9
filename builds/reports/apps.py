from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "builds.reports"
    label = "reports"

    def ready(self):
        from builds.bench.photos.signals import photo_withdrawn
        from builds.reports.archive import storing  # a worker must know its jobs

        def forget(sender, photo, **more):
            storing.delete_archives(photo.build.revision_id)

        photo_withdrawn.connect(forget, weak=False, dispatch_uid="a withdrawn photo is in no archive")
