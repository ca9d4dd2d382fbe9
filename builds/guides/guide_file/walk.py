"""Every problem of a guide as plain data, each with its place. The file maps places to lines, the editor to fields."""

import re
from dataclasses import dataclass, field, replace

from django.utils.translation import gettext as _

from builds.guides.control_settings import settings_rules
from builds.guides.guide_file import rules, shape
from builds.guides.guide_file.alternative_rules import alternative_rules
from builds.guides.guide_file.figure_sources import formula_input_rules
from builds.guides.guide_file.picture_rules import picture_rules
from builds.guides.guide_file.surroundings import Surroundings
from builds.guides.video import video_rules

SLUG = re.compile(r"[a-z0-9][a-z0-9-]*")
MAINS_VOLTS, MAINS_HERTZ = (100, 110, 115, 120, 127, 220, 230, 240), (50, 60)


@dataclass(frozen=True)
class Place:
    """A key in the index-th table of a name: ("stage.check", 4, "band"). Steps and checks know their stage."""

    table: str
    index: int
    key: str = ""
    stage: int = -1

    @property
    def row(self) -> tuple[str, int]:
        return self.table, self.index


@dataclass(frozen=True)
class Problem:
    """`label` names the row as its designer does; `message` is a sentence. `is_danger`: it could hurt a builder."""

    place: Place
    label: str
    message: str
    is_danger: bool = False


@dataclass
class Walker:
    """Walks one guide and yields its problems; `pictures` are the names of those at hand."""

    data: dict
    pictures: frozenset[str]
    counts: dict[str, int] = field(default_factory=dict)

    def problems(self):
        yield from self._top()
        if not isinstance(self.data.get("kit"), dict):
            return
        yield from self._table(Place("kit", 0), "kit", self.data["kit"], shape.KIT)
        yield from self._kit(self.data["kit"])
        yield from self._rows("picture", shape.PICTURE, self._shown, "name")
        yield from self._rows("point", shape.POINT, self._point, "node")
        yield from self._rows("part", shape.PART, self._part, "ref")
        self.around = Surroundings.of(self.data)
        yield from self._rows("stage", shape.STAGE, self._stage, "key")

    def _top(self):
        for key, message in rules.keys_and_types("guide", self.data, shape.TOP):
            yield Problem(Place("", 0, key), key, message)
        if self.data.get("format") != 1:
            yield Problem(Place("", 0), "format", _("The first line must be: format = 1."))
        if "kit" not in self.data:
            yield Problem(Place("", 0), "kit", _("A guide begins with a table [kit]. It is missing."))

    def _table(self, place, label, row, known):
        for key, message in rules.keys_and_types(place.table.rpartition(".")[2], row, known):
            yield Problem(replace(place, key=key), f"{label} {key}".strip(), message)

    def _kit(self, kit):
        for key, message in (*_key_rules(kit), *_mains_rules(kit)):
            yield Problem(Place("kit", 0, key), f"kit {key}", message)

    def _rows(self, name, known, inner, unique, rows=None, label="", stage=-1):
        """A list of tables, each against its keys and then by `inner`; `unique` may not repeat."""
        rows = self.data.get(name, []) if rows is None else rows
        if not isinstance(rows, list):
            return
        seen = set()
        for row in rows:
            place = Place(name, self.counts.get(name, 0), "", stage)
            self.counts[name] = place.index + 1
            if not isinstance(row, dict):
                yield Problem(place, name, str(shape.WANTED[shape.TABLE]))
                continue
            mark = row.get(unique) if isinstance(row.get(unique), str) else None
            title = f"{label}{name.rpartition('.')[2]} {mark or place.index + 1}"
            wrong = list(self._table(place, title, row, known))
            yield from wrong
            if mark and mark in seen:
                message = _("“%(name)s” already exists. Each name must be unique.") % {"name": mark}
                yield Problem(replace(place, key=unique), title, message)
            seen.add(mark)
            if not wrong:
                yield from self._inside(row, place, title, inner)
            if name == "stage" and isinstance(row.get("key"), str):
                yield from self._in_stage(row, place)

    def _inside(self, row, place, title, inner):
        for key, message, *danger in inner(row):
            yield Problem(replace(place, key=key), f"{title} {key}", message, bool(danger))

    def _in_stage(self, row, place):
        label = f"stage {row['key']}, "
        yield from self._rows("stage.step", shape.STEP, self._step, "key", row.get("step", []), label, place.index)
        self.power = row.get("power", "off")
        first = self.counts.get("stage.check", 0)
        yield from self._rows("stage.check", shape.CHECK, self._check, "key", row.get("check", []), label, place.index)
        yield from self._formulas(row, first, label, place.index)

    def _formulas(self, row, first, label, stage):
        checks = row["check"] if isinstance(row.get("check"), list) else []
        keys = [check.get("key") if isinstance(check, dict) else None for check in checks]
        for key, message in formula_input_rules(row if checks else {}):
            place = Place("stage.check", first + keys.index(key), "formula", stage)
            yield Problem(place, f"{label}check {key} formula", message)

    def _shown(self, row):
        yield from picture_rules(row, self.pictures)

    def _point(self, row):
        yield from self._picture(row)
        yield from rules.place_rules(row, self.pictures)

    def _picture(self, row):
        if row.get("picture") and row["picture"] not in self.pictures:
            yield (
                "picture",
                _("The picture %(name)s is not in the file. Import a zip with guide.toml and its pictures.")
                % {"name": row["picture"]},
            )

    def _part(self, row):
        yield from rules.part_rules(row)
        yield from alternative_rules(row) if row["kind"] in shape.KINDS else ()
        yield from _video_rules(row)
        for winding in row.get("winding", []):
            if not isinstance(winding, dict):
                yield "winding", str(shape.WANTED[shape.TABLE])
            else:
                yield from rules.keys_and_types("winding", winding, shape.WINDING)

    def _stage(self, row):
        yield from _slug_rules(row)
        yield from rules.stage_rules(row)
        yield from self.around.known_refs(row, "not_fitted")
        yield from settings_rules(row.get("settings", {}), self.around.kinds)
        yield from rules.order_rules(row)
        yield from _video_rules(row)

    def _step(self, row):
        yield from _slug_rules(row)
        yield from self.around.known_refs(row, "parts")
        yield from self._picture(row)
        yield from _video_rules(row)

    def _check(self, row):
        yield from _slug_rules(row)
        yield from rules.check_rules(row)
        yield from self._picture(row)
        hints = row.get("hint", [])
        yield from (
            problem
            for hint in hints
            for problem in (
                rules.keys_and_types("hint", hint, shape.HINT)
                if isinstance(hint, dict)
                else [("hint", str(shape.WANTED[shape.TABLE]))]
            )
        )
        yield from self.around.check_rules(row, self.power)


def _video_rules(row):
    if row.get("video"):
        yield from (("video", message) for message in video_rules(row["video"]))


def _slug_rules(row):
    if isinstance(row.get("key"), str) and not SLUG.fullmatch(row["key"]):
        yield "key", _("A key takes lower-case letters, digits and hyphens, such as first-power.")


def _key_rules(kit):
    yield from _slug_rules(kit)
    if kit.get("key") in shape.RESERVED:
        yield (
            "key",
            _("“%(key)s” is reserved for the addresses of this site. Choose another key.") % {"key": kit["key"]},
        )
    letter = kit.get("revision")
    if isinstance(letter, str) and not re.fullmatch(r"[A-Za-z0-9]{1,8}", letter):
        yield "revision", _("A revision is up to eight letters or digits, such as A.")


def _mains_rules(kit):
    mains = kit.get("mains", {})
    is_known = isinstance(mains, dict) and (
        mains.get("volts", 230) in MAINS_VOLTS
        and mains.get("hertz", 50) in MAINS_HERTZ
        and not {*mains} - {*shape.MAINS}
    )
    if isinstance(mains, dict) and not is_known:
        yield (
            "mains",
            _("This is not a mains supply. Accepted: volts of %(volts)s, and hertz of 50 or 60.")
            % {"volts": ", ".join(map(str, MAINS_VOLTS))},
        )
    yield from rules.tap_rules(kit["taps"] if isinstance(kit.get("taps"), list) else [])
