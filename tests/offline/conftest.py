"""What the builder of the cut and killed stories holds in the hand."""

import pytest
from PIL import Image


@pytest.fixture
def picture(tmp_path):
    path = tmp_path / "photo.jpg"
    Image.new("RGB", (320, 240), "#886644").save(path)
    return path
