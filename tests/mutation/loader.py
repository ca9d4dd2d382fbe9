"""A pytest plugin (`-p tests.mutation.loader`): import one module from a changed source, named in the environment."""

import os
import sys
from importlib.machinery import PathFinder, SourceFileLoader
from pathlib import Path


class _Changed(SourceFileLoader):
    def get_data(self, path):
        return Path(os.environ["MUTANT_SOURCE"]).read_bytes() if path == self.path else super().get_data(path)

    def get_code(self, fullname):  # never from a compiled file
        return compile(self.get_data(self.path), self.path, "exec", dont_inherit=True)


class _Finder:
    @staticmethod
    def find_spec(name, path=None, target=None):
        if name != os.environ.get("MUTANT_MODULE"):
            return None
        spec = PathFinder.find_spec(name, path, target)
        spec.loader = _Changed(name, spec.origin)
        return spec


sys.meta_path.insert(0, _Finder)
