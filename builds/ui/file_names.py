"""A picture of a guide by the words in its file name, for people who never chose that name."""

import re

CAMERA = re.compile(r"(img|dscn?|dcim|pasted|text|image|photo|picture|screenshot)*", re.IGNORECASE)


def words_in_name(name: str) -> str:
    """ "chassis-underside.jpg" as "Chassis underside"; empty where the name has no words, as a camera gives it."""
    stem = name.rpartition(".")[0] or name
    text = re.sub(r"[\W_]+", " ", stem).strip()
    letters = re.sub(r"[\W\d_]+", "", stem)
    if len(letters) < 3 or CAMERA.fullmatch(letters):
        return ""
    return text[0].upper() + text[1:]
