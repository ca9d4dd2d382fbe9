"""The guide file: one TOML file, or a zip of it with its pictures, in and out of the rows of a revision.

`read_guide` gives plain data that is known to be good, `store_guide` makes a draft of it, `write_guide` gives it back.
Out and in again gives the same guide.
"""

from builds.guides.guide_file.errors import FileProblem, GuideErrors
from builds.guides.guide_file.read import circuit_warnings, read_guide
from builds.guides.guide_file.store import store_guide
from builds.guides.guide_file.write import as_data, write_guide, write_zip

__all__ = [
    "GuideErrors",
    "FileProblem",
    "as_data",
    "circuit_warnings",
    "read_guide",
    "store_guide",
    "write_guide",
    "write_zip",
]
