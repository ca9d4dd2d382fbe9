"""A guide file as plain data that is known to be good; or every trouble it has, each with its line."""

import io
import re
import tomllib
import zipfile

from PIL import Image

from builds.guides.circuit.own_faults import own_faults
from builds.guides.circuit.problems import Written, circuit_troubles, left_to_model
from builds.guides.circuit.specs import spec_or_none
from builds.guides.control_settings import settings_rules
from builds.guides.guide_file import rules, shape
from builds.guides.guide_file.errors import GuideErrors, Trouble
from builds.guides.guide_file.lines import Lines
from builds.guides.guide_file.plain import odd
from checks.errors import ChecksError

MAX_TEXT, MAX_PICTURE, MAX_TOTAL, MAX_FILES = 3_000_000, 8_000_000, 60_000_000, 300
SLUG = re.compile(r"[a-z0-9][a-z0-9-]*")
PICTURE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,80}\.(png|jpg|jpeg)")


def read_guide(raw: bytes, filename: str = "guide.toml") -> dict:
    """Read a guide.toml, or a zip of it with pictures. Raises GuideErrors.

    Returns {"kit": {...}, "point": [...], "part": [...], "fault": [...], "stage": [...], "pictures": {name: bytes}}.
    """
    reader = _reader(raw)
    data = reader.data
    troubles = list(reader.troubles()) or [*reader.fault_troubles(), *reader.circuit_troubles(refusing=True)]
    if troubles:
        raise GuideErrors(sorted(troubles, key=lambda t: t.line))
    return {
        "kit": data["kit"],
        "point": data.get("point", []),
        "part": data.get("part", []),
        "fault": data.get("fault", []),
        "stage": data.get("stage", []),
        "pictures": reader.pictures,
    }


def circuit_warnings(raw: bytes) -> list[Trouble]:
    """What is wrong with the circuit of a guide that `read_guide` accepts: no check that is left to the model suffers
    from it."""
    return sorted(_reader(raw).circuit_troubles(refusing=False), key=lambda t: t.line)


def _reader(raw: bytes) -> "_Reader":
    text, pictures = _unpack(raw) if zipfile.is_zipfile(io.BytesIO(raw)) else (_decode(raw), {})
    try:
        return _Reader(tomllib.loads(text), Lines(text), pictures)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"line (\d+)", str(error))
        raise GuideErrors([Trouble(int(found[1]) if found else 0, "TOML", f"{error}.")]) from error
    except RecursionError as error:
        raise GuideErrors([Trouble(0, "TOML", "holds lists or tables too deep within each other.")]) from error
    except ValueError as error:  # a whole number of thousands of digits
        raise GuideErrors([Trouble(0, "TOML", "holds a number that is too large.")]) from error


def _refuse(message: str, key: str = "file"):
    raise GuideErrors([Trouble(0, key, message)])


def _decode(raw: bytes) -> str:
    if len(raw) > MAX_TEXT:
        _refuse("is larger than 3 MB; a guide.toml is text.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        _refuse("is neither UTF-8 text nor a zip. It takes a guide.toml, or a zip of it with its pictures.")


def _unpack(raw: bytes) -> tuple[str, dict]:
    """The text and the pictures of a zip; sizes are checked before anything is unpacked."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(raw))
        entries = [e for e in archive.infolist() if not e.is_dir() and not _is_clutter(e.filename)]
        if len(entries) > MAX_FILES or sum(e.file_size for e in entries) > MAX_TOTAL:
            _refuse("holds more than 300 files or 60 MB when unpacked.")
        named = {e.filename.rpartition("/")[2]: e for e in entries}
        if len(named) < len(entries):
            _refuse("holds two files of the same name in different folders.")
        if "guide.toml" not in named:
            _refuse("holds no guide.toml.")
        if named["guide.toml"].file_size > MAX_TEXT:
            _refuse("holds a guide.toml larger than 3 MB.")
        text = _decode(archive.read(named.pop("guide.toml")))
        return text, {name: _picture(name, archive.read(entry)) for name, entry in named.items()}
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, EOFError, OSError) as error:
        raise GuideErrors([Trouble(0, "file", "is a damaged or locked zip; make it again.")]) from error


def _is_clutter(path: str) -> bool:
    """What desktop systems add to a zip by themselves."""
    return path.startswith("__MACOSX/") or path.rpartition("/")[2].startswith(".") or path.endswith("/Thumbs.db")


def _picture(name: str, raw: bytes) -> bytes:
    check_picture(name, raw)
    return raw


def check_picture(name: str, raw: bytes) -> tuple[int, int]:
    """Check a picture by decoding it and give its size; the name must be plain, since it becomes part of an address."""
    if not PICTURE.fullmatch(name):
        _refuse("has a name that is not letters, digits, - and _ with .png or .jpg.", f"picture {name[:60]}")
    try:
        with Image.open(io.BytesIO(raw), formats=("PNG", "JPEG")) as image:
            if len(raw) > MAX_PICTURE or image.width * image.height > 50_000_000:
                _refuse("is larger than 8 MB or 50 million pixels.", f"picture {name}")
            image.load()
            return image.width, image.height
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        if isinstance(error, GuideErrors):
            raise
        _refuse("is not a PNG or JPEG picture that can be read.", f"picture {name}")


class _Reader:
    """Walks one guide and yields its troubles."""

    def __init__(self, data: dict, lines: Lines, pictures: dict):
        self.data, self.lines, self.pictures = data, lines, pictures
        self.counts: dict[str, int] = {}
        self.refs: dict[str, dict] = {}
        self.later: list[Trouble] = []

    def troubles(self):
        yield from self._top()
        if not isinstance(self.data.get("kit"), dict):
            return
        yield from self._table("kit", 0, "kit", self.data["kit"], shape.KIT)
        yield from self._kit(self.data["kit"])
        yield from self._rows("point", shape.POINT, self._picture_named, unique="node")
        yield from self._rows("part", shape.PART, self._part, unique="ref")
        yield from self._rows("stage", shape.STAGE, self._stage, unique="key")

    def fault_troubles(self):
        """What is wrong with the designer's own faults, of a guide whose parts are good."""
        specs, seen = [spec for spec in map(spec_or_none, self.data.get("part", [])) if spec], []
        for n, row in enumerate(self.data.get("fault", [])):
            wrong = odd(row)
            key = row.get("key") if isinstance(row, dict) else None
            if key in seen:
                yield Trouble(self.lines.of("fault", n), "fault", f"Fault {key}: another one has this key.")
            seen.append(key)
            try:
                own_faults(specs, [row if isinstance(row, dict) and not wrong else {}])
            except ChecksError as error:
                yield Trouble(self.lines.of("fault", n), "fault", wrong or str(error))

    def circuit_troubles(self, refusing: bool):
        """What is wrong with the circuit; asked only of a guide without other troubles.

        `refusing`: what a check that is left to the model cannot do with. Else the rest, which is warned of.
        """
        data = self.data
        checks = [check for stage in data.get("stage", []) for check in stage.get("check", [])]
        needed = any(map(left_to_model, checks))
        lines = [self.lines.of("part", n) for n in range(len(data.get("part", [])))]
        guide = Written(
            data.get("part", []),
            lines,
            data.get("stage", []),
            self._check_lines(len(checks)),
            tuple(p["node"] for p in data.get("point", [])),
            data["kit"].get("mains"),
        )
        for told in circuit_troubles(guide):
            if (needed and told.refuses) == refusing:
                yield Trouble(told.line, "circuit", told.words)

    def _check_lines(self, count: int) -> list[int]:
        """Lines of the checks; of their stages where they are not all written as tables of their own."""
        if self.lines.count("stage.check") == count:
            return [self.lines.of("stage.check", n) for n in range(count)]
        return [
            self.lines.of("stage", n)
            for n, stage in enumerate(self.data.get("stage", []))
            for _ in stage.get("check", [])
        ]

    def _top(self):
        for key, message in rules.keys_and_types("guide", self.data, shape.TOP):
            yield Trouble(self.lines.of(key, 0) or 1, key, message)
        if self.data.get("format") != 1:
            yield Trouble(1, "format", "must be 1, on the first line: format = 1.")
        if "kit" not in self.data:
            yield Trouble(1, "kit", "is missing: a guide begins with [kit].")

    def _table(self, name, index, label, row, known):
        for key, message in rules.keys_and_types(name.rpartition(".")[2], row, known):
            yield Trouble(self._line(name, index, key), f"{label} {key}".strip(), message)

    def _line(self, name, index, key=""):
        """The line of a key; of its stage where steps or checks are not all written as tables of their own."""
        inner = name.removeprefix("stage.")
        if inner != name and self.lines.count(name) != self._written(inner):
            return self.lines.of("stage", self.counts["stage"] - 1)
        return self.lines.of(name, index, key)

    def _written(self, inner: str) -> int:
        stages = [stage for stage in self.data["stage"] if isinstance(stage, dict)]
        return sum(len(stage[inner]) for stage in stages if isinstance(stage.get(inner), list))

    def _kit(self, kit):
        key = kit.get("key")
        if isinstance(key, str) and not SLUG.fullmatch(key):
            yield Trouble(self.lines.of("kit", 0, "key"), "kit key", "takes small letters, digits and hyphens.")
        if key in shape.RESERVED:
            yield Trouble(
                self.lines.of("kit", 0, "key"),
                "kit key",
                f"is “{key}”, a word this site needs for itself. Choose another.",
            )
        mains = kit.get("mains", {})
        if isinstance(mains, dict) and not (
            mains.get("volts", 230) in (100, 110, 115, 120, 127, 220, 230, 240)
            and mains.get("hertz", 50) in (50, 60)
            and not {*mains} - {*shape.MAINS}
        ):
            yield Trouble(
                self.lines.of("kit", 0, "mains"),
                "kit mains",
                "takes volts of 100, 110, 115, 120, 127, 220, 230 or 240, and hertz of 50 or 60.",
            )
        for _key, message in rules.tap_rules(kit["taps"] if isinstance(kit.get("taps"), list) else []):
            yield Trouble(self.lines.of("kit", 0, "taps"), "kit taps", message)
        letter = kit.get("revision")
        if isinstance(letter, str) and not re.fullmatch(r"[A-Za-z0-9]{1,8}", letter):
            yield Trouble(self.lines.of("kit", 0, "revision"), "kit revision", "takes up to eight letters or digits.")

    def _rows(self, name, known, inner, unique, rows=None, label=""):
        """Check a list of tables, each against its keys and then by `inner`; `unique` may not repeat."""
        rows = self.data.get(name, []) if rows is None else rows
        if not isinstance(rows, list):
            return
        seen = set()
        for row in rows:
            index = self.counts.get(name, 0)
            self.counts[name] = index + 1
            if not isinstance(row, dict):
                yield Trouble(self._line(name, index), name, "must be a table.")
                continue
            mark = row.get(unique) if isinstance(row.get(unique), str) else None
            title = f"{label}{name.rpartition('.')[2]} {mark or index + 1}"
            wrong = list(self._table(name, index, title, row, known))
            yield from wrong
            if mark and mark in seen:
                yield Trouble(self._line(name, index, unique), title, f"has a {unique} that is there already.")
            seen.add(mark)
            if unique == "ref" and mark:
                self.refs[mark] = row  # known even when wrong, so that one slip is told once
            if not wrong:
                for key, message in inner(row, index):
                    yield Trouble(self._line(name, index, key), f"{title} {key}", message)
            yield from self.later
            self.later = []

    def _picture_named(self, row, index):
        if row.get("picture") and row["picture"] not in self.pictures:
            yield (
                "picture",
                (
                    f"names {row['picture']}, which is not in the file. Import a zip that holds guide.toml and "
                    "its pictures."
                ),
            )

    def _part(self, row, index):
        yield from rules.part_rules(row)
        for winding in row.get("winding", []):
            if not isinstance(winding, dict):
                yield "winding", "must be tables, one a winding."
            else:
                yield from rules.keys_and_types("winding", winding, shape.WINDING)

    def _stage(self, row, index):
        yield from self._slug(row)
        yield from rules.stage_rules(row)
        yield from self._known(row, "not_fitted")
        yield from settings_rules(row.get("settings", {}), {ref: part.get("kind") for ref, part in self.refs.items()})
        label = f"stage {row['key']}, "
        self.later = [
            *self._rows("stage.step", shape.STEP, self._step, "key", row.get("step", []), label),
            *self._rows("stage.check", shape.CHECK, self._check, "key", row.get("check", []), label),
        ]
        yield from rules.order_rules(row)

    def _slug(self, row):
        if not SLUG.fullmatch(row["key"]):
            yield "key", "takes small letters, digits and hyphens."

    def _known(self, row, key):
        for ref in row.get(key, []):
            if ref not in self.refs:
                yield key, f"names {ref!r}, which is not in the parts list."

    def _step(self, row, index):
        yield from self._slug(row)
        yield from self._known(row, "parts")
        yield from self._picture_named(row, index)

    def _check(self, row, index):
        yield from self._slug(row)
        yield from rules.check_rules(row)
        yield from self._picture_named(row, index)
        if row.get("through") and row["through"] not in self.refs:
            yield "through", f"names {row['through']!r}, which is not in the parts list."
        for probe in ("red", "black"):
            yield from self._pin(probe, row.get(probe, ""))
        for hint in row.get("hint", []):
            yield from (
                rules.keys_and_types("hint", hint, shape.HINT)
                if isinstance(hint, dict)
                else [("hint", "must be tables with when and text.")]
            )

    def _pin(self, probe, point):
        ref, _, pin = point.partition(".")
        part = self.refs.get(ref)
        if part and part.get("kind") in shape.VALVES and not pin.isdigit():
            yield probe, f"is {point!r}; a socket pin is written {ref}.7."
