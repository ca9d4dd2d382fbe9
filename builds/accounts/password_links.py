"""Links by which one person lets another choose a new password. Whoever has such a link can use it, its maker too: what
speaks against making one speaks against using it later."""

from collections.abc import Callable

from builds.accounts.models import Invitation, Person

# Functions (maker, person) -> why no link may be made, empty where one may; other apps add theirs when they are loaded.
OBSTACLES: list[Callable[[Person, Person], str]] = []


def why_no_link(maker: Person, person: Person) -> str:
    return next(filter(None, (ask(maker, person) for ask in OBSTACLES)), "")


def still_opens(link: Invitation) -> bool:
    """Does this link for a new password open its account now? One sent by e-mail was made by nobody."""
    person, maker = link.person, link.made_by
    if person is None or not person.is_active:
        return False
    return maker is None or (maker.is_active and not why_no_link(maker, person))
