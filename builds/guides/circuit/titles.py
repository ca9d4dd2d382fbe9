"""Places of the fault book in the guide's own words."""

from dataclasses import replace

from checks.diagnosis.place import Place


def titled(place: Place, guide) -> Place:
    """A place that is a check of the guide, with the stage's and the check's title for words; any other as it is."""
    for stage in guide.stages:
        if stage.key == place.stage:
            for check in stage.checks.all():
                if check.key == place.check:
                    return replace(place, words=f"{check.title} ({stage.title})")
    return place
