"""The small changes: each a function that yields the changed source of one syntax node after another."""

import ast
import copy
from dataclasses import dataclass
from functools import partial

COMPARISONS = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
ARITHMETIC = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.FloorDiv: ast.Div,
}

CONDITIONS = ("filter", "exclude", "get")  # of a query: each keyword is one


@dataclass(frozen=True)
class Mutant:
    """One change of a module: where, what, the whole changed source, and the lines of the statement it is in."""

    line: int
    change: str
    source: str
    lines: range


def mutants_of(source: str) -> list[Mutant]:
    """Every mutant of a module's source, docstrings and type hints left alone."""
    tree = ast.parse(source)
    skipped, statements = _left_alone(tree), _statements(tree)
    results = []
    for number, node in enumerate(ast.walk(tree)):
        if id(node) in skipped:
            continue
        for change, mutate in _changes(node):
            changed = copy.deepcopy(tree)
            twin = next(n for i, n in enumerate(ast.walk(changed)) if i == number)
            mutate(twin)
            text = ast.unparse(ast.fix_missing_locations(changed))
            results.append(Mutant(node.lineno, change, text, statements[id(node)]))
    return results


def _statements(tree) -> dict[int, range]:
    """The lines of the innermost statement around each node: of one with a body, those of its head."""
    result: dict[int, range] = {}
    for statement in ast.walk(tree):  # outer ones first
        if isinstance(statement, ast.stmt):
            last = (
                max(statement.lineno, statement.body[0].lineno - 1)
                if hasattr(statement, "body")
                else statement.end_lineno
            )
            result |= {id(node): range(statement.lineno, last + 1) for node in ast.walk(statement)}
    return result


def _left_alone(tree) -> set[int]:
    """Docstrings, annotations, decorators, messages and `strict` of zip: what changes there changes no rule."""
    skipped = set()
    for node in ast.walk(tree):
        parts = []
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            parts.append(node)
        if isinstance(node, ast.FunctionDef):
            parts += [*node.decorator_list, node.returns, *(a.annotation for a in ast.walk(node.args) if _annotated(a))]
        if isinstance(node, ast.AnnAssign):
            parts.append(node.annotation)
        if isinstance(node, ast.ClassDef):
            parts += node.decorator_list
        if isinstance(node, ast.JoinedStr | ast.Import | ast.ImportFrom):
            parts.append(node)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            parts.append(node)
        if isinstance(node, ast.keyword) and node.arg == "strict":  # of zip: it says that two are as long
            parts.append(node)
        skipped |= {id(inner) for part in parts if part is not None for inner in ast.walk(part)}
    return skipped


def _annotated(node) -> bool:
    return isinstance(node, ast.arg) and node.annotation is not None


def _changes(node):
    if isinstance(node, ast.Compare) and type(node.ops[0]) in COMPARISONS:
        yield f"{_name(node.ops[0])} becomes {COMPARISONS[type(node.ops[0])].__name__}", _compare
    if isinstance(node, ast.BinOp) and type(node.op) in ARITHMETIC and not isinstance(node.left, ast.JoinedStr):
        yield f"{_name(node.op)} becomes {ARITHMETIC[type(node.op)].__name__}", _arithmetic
    if isinstance(node, ast.BoolOp):
        yield f"{_name(node.op)} is the other", _boolean
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "not is dropped", _drop_not
    if isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
        yield f"{node.value!r} becomes another", _constant
    if isinstance(node, ast.IfExp | ast.If):
        yield "the condition is always true", _always
    if isinstance(node, ast.AugAssign) and type(node.op) in ARITHMETIC:
        yield f"{_name(node.op)} becomes {ARITHMETIC[type(node.op)].__name__}", _arithmetic
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        yield f"{ast.unparse(node.value.func)}() is not called", _not_called
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in CONDITIONS:
        for number, keyword in enumerate(node.keywords):
            yield f"{node.func.attr}() does not ask for {keyword.arg}", partial(_unasked, number=number)
    if isinstance(node, ast.Return) and node.value is not None and not _is_none(node.value):
        yield "returns None", _return_none


def _name(operator) -> str:
    return type(operator).__name__


def _is_none(node) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _compare(node):
    node.ops[0] = COMPARISONS[type(node.ops[0])]()


def _arithmetic(node):
    node.op = ARITHMETIC[type(node.op)]()


def _boolean(node):
    node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()


def _drop_not(node):
    node.operand = ast.UnaryOp(ast.Not(), node.operand)


def _constant(node):
    node.value = (not node.value) if isinstance(node.value, bool) else node.value + 1 if node.value else 1


def _always(node):
    node.test = ast.Constant(True)


def _not_called(node):
    node.value = ast.Constant(None)


def _unasked(node, number):
    del node.keywords[number]


def _return_none(node):
    node.value = ast.Constant(None)
