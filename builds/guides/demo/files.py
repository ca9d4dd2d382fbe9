"""The demo guide as the zip a designer would import."""

import io
import zipfile
from pathlib import Path

FOLDER = Path(__file__).parent


def demo_zip(kit: str = "five-watt") -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted((FOLDER / kit).iterdir()):
            if path.suffix in (".toml", ".png"):
                archive.write(path, path.name)
    return out.getvalue()
