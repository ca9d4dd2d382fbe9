"""What is wrong with a parts list as a circuit, each with the line of its part."""
import re

from builds.guides.circuit.specs import mapping_of
from checks.circuit import part_from_mapping, problems
from checks.errors import ChecksError


def circuit_troubles(mappings, lines):
    """Yield (line, sentence). Parts that cannot be read come first; only a list without such is looked at as a circuit."""
    parts, wrong = [], []
    for mapping, line in zip(mappings, lines, strict=True):
        try:
            parts.append(part_from_mapping(mapping, line))
        except ChecksError as error:
            wrong.append((line, str(error)))
    if wrong:
        yield from wrong
        return
    at = {part.ref: part.line for part in parts}
    for error in problems(parts):
        yield at.get(re.split(r"[ :]", str(error))[0], 0), str(error)


def troubles_of(guide) -> list[str]:
    """The same of a guide's rows, which know no lines."""
    mappings = [mapping_of(part) for part in guide.parts.values()]
    return [words for _line, words in circuit_troubles(mappings, [None] * len(mappings))]
