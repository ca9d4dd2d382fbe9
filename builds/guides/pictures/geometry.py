"""Places on a picture, as fractions of its width and height, before and after it is turned and cropped."""

from dataclasses import dataclass

TURNS = (0, 90, 180, 270)  # degrees clockwise
WHOLE = (0.0, 0.0, 1.0, 1.0)
LEAST = 0.05  # of a side: no crop is narrower


@dataclass(frozen=True)
class Frame:
    """How a picture is shown: turned, then cut to `crop` (left, top, right, bottom of the turned picture)."""

    turn: int = 0
    crop: tuple[float, float, float, float] = WHOLE

    @classmethod
    def of(cls, row: dict | None) -> "Frame":
        row = row or {}
        return cls(row.get("turn", 0), tuple(row.get("crop") or WHOLE))

    @property
    def is_whole(self) -> bool:
        return not self.turn and self.crop == WHOLE

    def shown(self, x: float, y: float) -> tuple[float, float]:
        """Where a place of the uploaded picture is on the shown one; outside 0 to 1 where it is cut off."""
        u, v = {0: (x, y), 90: (1 - y, x), 180: (1 - x, 1 - y), 270: (y, 1 - x)}[self.turn]
        left, top, right, bottom = self.crop
        return (u - left) / (right - left), (v - top) / (bottom - top)

    def uploaded(self, x: float, y: float) -> tuple[float, float]:
        """The other way round."""
        left, top, right, bottom = self.crop
        u, v = left + x * (right - left), top + y * (bottom - top)
        return {0: (u, v), 90: (v, 1 - u), 180: (1 - u, 1 - v), 270: (1 - v, u)}[self.turn]

    def cropped(self, crop: tuple[float, float, float, float]) -> "Frame":
        """The frame cut once more, by fractions of what is shown now."""
        left, top, right, bottom = self.crop
        wide, tall = right - left, bottom - top
        x0, y0, x1, y1 = crop
        within = (left + x0 * wide, top + y0 * tall, left + x1 * wide, top + y1 * tall)
        return Frame(self.turn, (round(within[0], 4), round(within[1], 4), round(within[2], 4), round(within[3], 4)))

    def turned(self) -> "Frame":
        """A quarter turn clockwise of what is shown now."""
        left, top, right, bottom = self.crop
        return Frame((self.turn + 90) % 360, (round(1 - bottom, 4), left, round(1 - top, 4), right))


def move_place(place, before: Frame, after: Frame) -> tuple[float, float]:
    """The same spot of the subject, once the frame is another."""
    x, y = after.shown(*before.uploaded(*place))
    return round(x, 4), round(y, 4)


def is_inside(place) -> bool:
    return all(-0.0005 <= share <= 1.0005 for share in place)


def within(place) -> list[float]:
    return [min(1.0, max(0.0, share)) for share in place]
