"""A guide file as plain data that is known to be good; or every problem it has, each with its line."""

import re
import tomllib
from itertools import islice

from django.utils.translation import gettext as _

from builds.guides.circuit.own_faults import own_faults
from builds.guides.circuit.problems import GuideRows, find_circuit_problems, left_to_model
from builds.guides.circuit.specs import spec_or_none
from builds.guides.guide_file.control_positions import position_warnings
from builds.guides.guide_file.errors import FileProblem, GuideErrors
from builds.guides.guide_file.lines import Lines
from builds.guides.guide_file.plain import find_unstorable
from builds.guides.guide_file.size_limits import refuse_deep_keys
from builds.guides.guide_file.translations import read_translations
from builds.guides.guide_file.unpack import unpack
from builds.guides.guide_file.unsaid_meters import unstated_meter_warnings
from builds.guides.guide_file.walk import Place, Walker
from builds.guides.wiring.ends import is_unwired
from builds.ui.messages.errors import message_for
from checks.errors import ChecksError

TABLES = ("picture", "point", "part", "fault", "stage")
MOST_SHOWN = 100  # problems of a file that are looked for: a file of 200,000 wrong names keeps nobody busy


def read_guide(raw: bytes, filename: str = "guide.toml", known: frozenset[str] = frozenset()) -> dict:
    """Read a guide.toml, or a zip of it with pictures; `known` are names of pictures that are at hand already. Raises
    GuideErrors.

    Returns {"kit": {...}, "picture": [...], "point": [...], "part": [...], "fault": [...], "stage": [...],
    "pictures": {name: bytes}, "translations": {language: rows}} (see translations.py).
    """
    file = _parsed(raw)
    problems = [*islice(file.problems(known), MOST_SHOWN)]
    problems = problems or [*file.fault_problems(), *file.circuit_problems(refusing=True)]
    if problems:
        raise GuideErrors(sorted(problems, key=lambda t: t.line))
    tables = {"kit": file.data["kit"], **{name: file.data.get(name, []) for name in TABLES}}
    return {**tables, "pictures": file.pictures, "translations": read_translations(file.translations, tables)}


def read_kit_and_revision(raw: bytes) -> tuple[str, str]:
    """(key, revision) of the kit that a file says it is; ("", "") where it says none. Raises GuideErrors."""
    kit = _parsed(raw).data.get("kit")
    kit = kit if isinstance(kit, dict) else {}
    return str(kit.get("key", "")), str(kit.get("revision", ""))


def circuit_warnings(raw: bytes) -> list[FileProblem]:
    """What is doubtful in a guide that `read_guide` accepts: its circuit where no check is left to it, controls,
    meters."""
    file = _parsed(raw)
    warnings = [*file.circuit_problems(refusing=False), *file.check_problems()]
    return sorted(warnings, key=lambda t: t.line)


def _parsed(raw: bytes) -> "_File":
    text, translations, pictures = unpack(raw)
    for part in (text, *translations.values()):
        refuse_deep_keys(part)
    try:
        return _File(tomllib.loads(text), Lines(text), pictures, translations)
    except tomllib.TOMLDecodeError as error:
        place = re.search(r"line (\d+)", str(error))
        raise GuideErrors([FileProblem(int(place[1]) if place else 0, "TOML", f"{error}.")]) from error
    except RecursionError as error:
        raise GuideErrors([FileProblem(0, "TOML", _("Lists or tables are nested too deeply."))]) from error
    except ValueError as error:  # a whole number of thousands of digits
        raise GuideErrors([FileProblem(0, "TOML", _("A number in the file is too large."))]) from error


class _File:
    """A guide as data, with the lines it was written on."""

    def __init__(self, data: dict, lines: Lines, pictures: dict, translations: dict[str, str]):
        self.data, self.lines, self.pictures, self.translations = data, lines, pictures, translations

    def problems(self, known: frozenset[str] = frozenset()):
        for problem in Walker(self.data, frozenset(self.pictures) | known).problems():
            yield FileProblem(self._line(problem.place), problem.label, problem.message)

    def _line(self, place: Place) -> int:
        """The line of a key; of its stage where steps or checks are not all written as tables of their own."""
        if not place.table:
            return self.lines.of(place.key, 0) or 1
        inner = place.table.removeprefix("stage.")
        if inner != place.table and self.lines.count(place.table) != self._written(inner):
            return self.lines.of("stage", place.stage)
        return self.lines.of(place.table, place.index, place.key)

    def _written(self, inner: str) -> int:
        stages = [stage for stage in self.data["stage"] if isinstance(stage, dict)]
        return sum(len(stage[inner]) for stage in stages if isinstance(stage.get(inner), list))

    def fault_problems(self):
        """What is wrong with the designer's own faults, of a guide whose parts are good."""
        specs, seen = [spec for spec in map(spec_or_none, self.data.get("part", [])) if spec], []
        for n, row in enumerate(self.data.get("fault", [])):
            line, wrong = self.lines.of("fault", n), find_unstorable(row)
            key = row.get("key") if isinstance(row, dict) else None
            if key in seen:
                yield FileProblem(line, "fault", _("Another fault has the key %(key)s already.") % {"key": key})
            seen.append(key)
            try:
                own_faults(specs, [row if isinstance(row, dict) and not wrong else {}])
            except ChecksError as error:
                yield FileProblem(line, "fault", wrong or message_for(error))

    def circuit_problems(self, refusing: bool):
        """What is wrong with the circuit; asked only of a guide without other problems.

        `refusing`: what a check that is left to the model cannot do with. Else the rest, which is warned of. While a
        part has no wire yet, the circuit is one that its designer is still at: all of it is warned of, and none of it
        can be issued. A loose end stops no computing, and a guide may have been issued with it.
        """
        data, stages = self.data, self.data.get("stage", [])
        checks = [check for stage in stages for check in stage.get("check", [])]
        needed = any(map(left_to_model, checks)) and not any(map(is_unwired, data.get("part", [])))
        lines = [self.lines.of("part", n) for n in range(len(data.get("part", [])))]
        points = tuple(p["node"] for p in data.get("point", []))
        guide = GuideRows(data.get("part", []), lines, stages, self._check_lines(), points, data["kit"].get("mains"))
        for problem in find_circuit_problems(guide):
            if (needed and problem.refuses and not problem.may_stay) == refusing:
                yield FileProblem(problem.line, "circuit", problem.message)

    def check_problems(self):
        lines = iter(self._check_lines())
        at = {
            (stage["key"], check["key"]): next(lines)
            for stage in self.data.get("stage", [])
            for check in stage.get("check", [])
        }
        stages = self.data.get("stage", [])
        doubts = [*position_warnings(stages, self.data.get("part", [])), *unstated_meter_warnings(stages)]
        for stage, check, message in doubts:
            yield FileProblem(at[stage, check], f"stage {stage}, check {check}", message)

    def _check_lines(self) -> list[int]:
        """Lines of the checks; of their stages where they are not all written as tables of their own."""
        places = [
            (n, count)
            for count, n in enumerate(
                n for n, stage in enumerate(self.data.get("stage", [])) for _check in stage.get("check", [])
            )
        ]
        return [self._line(Place("stage.check", count, "", stage)) for stage, count in places]
