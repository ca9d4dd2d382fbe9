"""Places of the fault dictionary by the guide's own titles."""

from dataclasses import replace

from checks.diagnosis.place import Place


def with_title(place: Place, guide) -> Place:
    """A place that is a check of the guide, with the check's and the stage's title; any other as it is."""
    for stage in guide.stages:
        if stage.key == place.stage:
            for check in stage.checks.all():
                if check.key == place.check:
                    return replace(place, title=f"{check.title} ({stage.title})")
    return place
