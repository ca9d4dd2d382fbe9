"""A changed module taken up by a process that has imported the module already: its functions get the changed code, its
constants the changed values, wherever they were imported to."""

import ast
import gc
import sys
from collections.abc import Iterator
from functools import _lru_cache_wrapper
from types import CodeType, FunctionType

Living = dict[tuple, list[FunctionType]]
FUNCTION = 0x1  # CO_OPTIMIZED: the body of a function, not of a class or a module


class NotByFunctions(Exception):
    """The change lies in what is done when the module is imported."""


class NotByConstants(Exception):
    """Nor is it a constant's value: a class is made another way, or a function's defaults."""


def functions_of(path: str) -> Living:
    """Every function made from the file `path` that lives in this process, by name and first line."""
    result: dict[tuple, list[FunctionType]] = {}
    for thing in gc.get_objects():
        # not isinstance, which asks Django's lazy objects what they are
        if type(thing) is FunctionType and thing.__code__.co_filename == path:
            result.setdefault(_key(thing.__code__), []).append(thing)
    return result


def caches() -> list:
    """What the project's functions remember of their answers: one from before a change would hide it."""
    wrappers = [thing for thing in gc.get_objects() if type(thing) is _lru_cache_wrapper]
    return [one for one in wrappers if one.__module__.partition(".")[0] in ("checks", "builds")]


def take_up(source: str, changed: str, path: str, living: Living | None = None) -> int:
    """Give living functions the code of the `changed` source; how many functions had it. `living`: of the path, where
    they were looked for before, which takes longer than most tests."""
    living, count = functions_of(path) if living is None else living, 0
    for original, new in changed_functions(source, changed, path):
        for function in living.get(_key(original), []):
            try:
                function.__code__ = new
            except ValueError as error:  # it closes over other variables now
                raise NotByFunctions from error
            count += 1
    if not count:
        raise NotByFunctions
    return count


def rebind(source: str, changed: str, path: str) -> None:
    """Assign the module's constants again, from the one that differs on: it, and those that are made from it."""
    space = next(vars(m) for m in list(sys.modules.values()) if getattr(m, "__file__", None) == path)
    plain, new = ast.parse(ast.unparse(ast.parse(source))).body, ast.parse(changed).body
    others: set[str] = set()
    for before, after in zip(plain, new, strict=True):
        differs = ast.dump(before) != ast.dump(after)
        is_constant = isinstance(after, ast.Assign | ast.AnnAssign)
        if differs and not is_constant:
            raise NotByConstants
        if is_constant and (differs or others & {n.id for n in ast.walk(after) if isinstance(n, ast.Name)}):
            old = dict(space)
            exec(compile(ast.Module([after], []), path, "exec"), space)
            others |= _spread(old, space)


def _spread(old: dict, space: dict) -> set[str]:
    """Names that have another value now; each module that imported the old one by its name gets the new one."""
    names = {name for name in space if name in old and space[name] is not old[name]}
    for module in list(sys.modules.values()):
        for name in names & set(getattr(module, "__dict__", ())):
            if vars(module)[name] is old[name]:
                setattr(module, name, space[name])
    return names


def changed_functions(source: str, changed: str, path: str) -> list[tuple[CodeType, CodeType]]:
    """(code as imported, changed code) of each function outside others that differs."""
    plain = ast.unparse(ast.parse(source))  # of the same lines as the changed source
    first, second, third = (list(_functions(compile(s, path, "exec"))) for s in (source, plain, changed))
    if not len(first) == len(second) == len(third):
        raise NotByFunctions
    return [(o, new) for o, same, new in zip(first, second, third, strict=True) if same != new]


def _functions(code: CodeType) -> Iterator[CodeType]:
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            if inner.co_flags & FUNCTION:
                yield inner
            else:
                yield from _functions(inner)


def _key(code: CodeType) -> tuple:
    return code.co_qualname, code.co_firstlineno
