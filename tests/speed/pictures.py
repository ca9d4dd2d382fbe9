"""Pictures that compress about as badly as photos do."""

import io

import numpy as np
from PIL import Image


def noisy_photo(width: int = 2000, height: int = 1500) -> bytes:
    rng = np.random.default_rng(3)
    coarse = Image.fromarray(rng.integers(0, 255, (height // 20, width // 20, 3), dtype=np.uint8)).resize(
        (width, height)
    )
    out = io.BytesIO()
    coarse.save(out, "JPEG", quality=85)
    return out.getvalue()
