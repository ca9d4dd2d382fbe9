"""A picture with the words on it in a reader's language: drawn once, and kept under a name of what it shows."""

import copy
import json
from hashlib import sha256

from django.core.files.base import ContentFile

from builds.guides.models import Picture
from builds.guides.pictures.draw import shown_picture


def with_words(picture: Picture, labels: list[str] | None) -> Picture:
    """The picture as readers of another language see it, for display; itself where nobody has translated its words."""
    if not labels:
        return picture
    made, texts = copy.copy(picture), iter(labels)
    marks = [mark | {"text": next(texts)} if mark["what"] == "words" else mark for mark in picture.changes["mark"]]
    made.changes = picture.changes | {"mark": marks}
    made.is_translated = True  # `shown` is not drawn from these marks
    return made


def choose_image(picture: Picture):
    """The file that people see."""
    if not getattr(picture, "is_translated", False):
        return picture.image
    storage, field = picture.file.storage, Picture._meta.get_field("shown")
    content_key = json.dumps([picture.file.name, picture.changes], sort_keys=True, ensure_ascii=False)
    name = f"guides/{picture.revision_id}/shown/{sha256(content_key.encode()).hexdigest()[:16]}-{picture.name}"
    if not storage.exists(name):
        with picture.file.open("rb") as file:
            content, _wide, _tall = shown_picture(file.read(), picture.changes)
        name = storage.save(name, ContentFile(content))
    return field.attr_class(picture, field, name)
