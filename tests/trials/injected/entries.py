"""Entries as a phone sends them: address, form, and where they are to be found afterwards."""

from dataclasses import dataclass
from uuid import UUID, uuid4

from django.db import connections
from django.urls import reverse

from builds.bench.models import FittedValve, MadeSafe, Message, Photo, Reading, Receipt, Snag
from tests.access.calls import image


@dataclass(frozen=True)
class Entry:
    key: UUID
    model: type
    url: str
    form: dict
    has_photo: bool = False
    by_outbox: bool = True

    def send(self, client):
        """Post it; True where it is acknowledged: the answer to an outbox names its key, the browser is led on."""
        form = dict(self.form) | ({"photo": image()} if self.has_photo else {})
        headers = {"Outbox": "1", "Entry-Key": str(self.key), "HX-Request": "true"} if self.by_outbox else {}
        try:
            answer = client.post(self.url, form, headers=headers)
        finally:
            connections.close_all()  # as the site does after each request; the test client does not
        return answer.headers.get("Entry-Kept") == str(self.key) if self.by_outbox else answer.status_code == 302

    def count(self) -> int:
        rows = self.model.objects.filter(entry_key=self.key).count()
        return rows if not self.has_photo or rows != 1 else self._photos()

    def _photos(self) -> int:
        return Photo.objects.filter(snag__entry_key=self.key).count()


def draw(rng, build, snag: Snag, kinds) -> Entry:
    """A new entry of one of these kinds."""
    key = uuid4()
    kind = rng.choice(kinds)
    model, name, more, form, has_photo = KINDS[kind]
    args = [build.pk, *([snag.pk] if name == "snag" else more)]
    drawn = {field: value(rng) if callable(value) else value for field, value in form.items()}
    return Entry(
        key, model, reverse(f"bench:{name}", args=args), drawn | {"entry_key": str(key)}, has_photo, kind not in BY_FORM
    )


def _volts(rng) -> str:
    return f"{rng.uniform(271, 390):.1f}"


def _words(rng) -> str:
    return f"Note {rng.random()}"


SNAG = {"kind": "other", "severity": "danger", "about": "", "words": _words}
PHOTOS = ("snag with a photo",)
BY_FORM = ("valve", "message")  # forms that no outbox keeps
KINDS = {
    "reading": (Reading, "reading", ("stage-1", "check-1-1"), {"typed": _volts, "unit": "V"}, False),
    "made safe": (MadeSafe, "make-safe", (), {"typed": "3", "unit": "V"}, False),
    "snag": (Snag, "new-snag", ("stage-1",), SNAG, False),
    "snag with a photo": (Snag, "new-snag", ("stage-1",), SNAG, True),
    "valve": (FittedValve, "valves", (), {"ref": "V1", "make": "Northlight", "code": _words, "why": "doubt"}, False),
    "message": (Message, "snag", (), {"words": _words}, False),
    "tick": (Receipt, "tick", ("stage-1", "step-1-1"), {"done": "1"}, False),
}
