"""Where a sheet of live work asks for a made-safe reading before its end: hands go in in the middle."""

from builds.guides.models import Check, Stage


def made_safe_before(stage: Stage) -> set[str]:
    """The keys of the steps of live work that put hands in, of several in a row the first."""
    found, is_in = set(), False
    for item in stage.items if stage.is_powered else ():
        was_in, is_in = is_in, not isinstance(item, Check) and item.hands_in
        if is_in and not was_in:
            found.add(item.key)
    return found
