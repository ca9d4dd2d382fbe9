"""The files of photos, pictures, recordings and archives, in a folder or in an object store."""

from collections.abc import Iterator

from django.core.files.storage import default_storage


def names(folder: str = "") -> Iterator[str]:
    """Every file, with the path that a row would name it by."""
    try:
        folders, files = default_storage.listdir(folder)
    except FileNotFoundError:
        return
    before = f"{folder}/" if folder else ""
    for name in sorted(files):
        if name:
            yield before + name
    for name in sorted(folders):
        yield from names(before + name)
