"""Small changes to Python code, one at a time, each of which ought to make a test fail."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Sequence
from types import CodeType
from typing import TypeVar

import attrs

N = TypeVar("N", bound=ast.AST)

_SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
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
    ast.And: ast.Or,
    ast.Or: ast.And,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Add,
    ast.FloorDiv: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.BitXor: ast.BitOr,
    ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
}
_NAMES = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "union": "intersection",
    "intersection": "union",
    "isdisjoint": "issuperset",
}
_TYPES_ONLY = {"annotation", "returns", "decorator_list", "targets", "target", "type_params", "ctx"}


@attrs.frozen
class Mutation:
    """One change.

    Args:
        owner: the outermost function that it is in, by its qualified name; "": none.
        line: the line of it, from 1.
        before: the code that is changed.
        after: what it is changed to.
        code: the changed function, or the module where it is in none.
    """

    owner: str
    line: int
    before: str
    after: str
    code: CodeType

    def __str__(self) -> str:
        pairs = enumerate(zip(self.before, self.after, strict=False))
        same = next((place for place, (one, other) in pairs if one != other), 0)
        begin = max(0, same - 40)
        before, after = (text[begin : same + 60] for text in (self.before, self.after))
        return f"{self.line} {self.owner or 'module'}: {before!r} => {after!r}"


def mutations(text: str, path: str) -> Iterator[Mutation]:
    """Each change to a module.

    Args:
        text: what is in the module.
        path: where it is, as its code objects are to say.
    """
    tree = ast.parse(text)
    for owner, top, holder, field, place in _sites(tree, "", None):
        whole = _alone(owner, top) if top else tree
        here = getattr(holder, field)
        node = here if place is None else here[place]
        before = _text(node)
        for other in _others(node, holder):
            after = _text(other)
            if after == before:
                continue
            _put(holder, field, place, other)
            try:
                module = compile(ast.fix_missing_locations(whole), path, "exec")
            except (SyntaxError, ValueError):
                continue
            finally:
                _put(holder, field, place, node)
            code = _code_of(module, top) if top else module
            line = getattr(node, "lineno", getattr(holder, "lineno", 0))
            yield Mutation(owner, line, before, after, code)


def _text(node: ast.AST) -> str:
    return ast.unparse(ast.fix_missing_locations(node)) or type(node).__name__


def _put(holder: ast.AST, field: str, place: int | None, node: ast.AST) -> None:
    if place is None:
        setattr(holder, field, node)
    else:
        getattr(holder, field)[place] = node


def _sites(
    holder: ast.AST, prefix: str, top: ast.AST | None
) -> Iterator[tuple[str, ast.AST | None, ast.AST, str, int | None]]:
    """Where each node stands: its function, what holds it, in which field, at which place."""
    for field, value in ast.iter_fields(holder):
        if field in _TYPES_ONLY:
            continue
        several = isinstance(value, list)
        for place, node in enumerate(value if several else [value]):
            if not isinstance(node, ast.AST) or _only_says(node):
                continue
            inner, own = prefix, top
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and top is None:
                inner = f"{prefix}.{node.name}" if prefix else node.name
                own = node if isinstance(node, ast.FunctionDef) else None
            if isinstance(node, ast.arguments):
                own = None  # what is taken by default is no part of the code of a function
            if own is top:
                yield (prefix if top else ""), top, holder, field, place if several else None
            yield from _sites(node, inner, own)


def _only_says(node: ast.AST) -> bool:
    """Whether it is a docstring, an import, the name of a type, ``__all__`` or ``strict=``."""
    if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
        return True
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return True
    if isinstance(node, ast.keyword) and node.arg == "strict":
        return True
    if isinstance(node, ast.AnnAssign) and ast.unparse(node.annotation) == "TypeAlias":
        return True
    return isinstance(node, ast.Import | ast.ImportFrom)


def _alone(owner: str, top: ast.AST) -> ast.Module:
    """A module with nothing but a function, in the classes that it is in: it compiles sooner."""
    assert isinstance(top, ast.FunctionDef)  # noqa: S101 (what _sites gives)
    body: ast.stmt = top
    for name in reversed(owner.split(".")[:-1]):
        body = ast.ClassDef(name, [], [], [body], [])
    future = ast.ImportFrom("__future__", [ast.alias("annotations")], 0)
    return ast.Module([future, body], [])


def _code_of(module: CodeType, top: ast.AST) -> CodeType:
    """The code of a function within that of its module."""
    assert isinstance(top, ast.FunctionDef)  # noqa: S101 (what _sites gives)
    first = min([top.lineno, *(each.lineno for each in top.decorator_list)])
    waiting = [module]
    while waiting:
        code = waiting.pop()
        if (code.co_name, code.co_firstlineno) == (top.name, first):
            return code
        waiting += [each for each in code.co_consts if isinstance(each, CodeType)]
    raise KeyError(top.name)


def _others(node: ast.AST, holder: ast.AST) -> Iterator[ast.AST]:
    """What may stand in the place of a node."""
    if isinstance(node, ast.stmt):
        yield from _other_statements(node)
    elif type(node) in _SWAPPED:
        yield _SWAPPED[type(node)]()
    elif isinstance(node, ast.Constant):
        yield from _other_constants(node.value)
    elif isinstance(node, ast.expr):
        yield from _other_expressions(node)
        if isinstance(holder, ast.If | ast.While | ast.IfExp) and node is holder.test:
            yield ast.UnaryOp(ast.Not(), node)
    elif isinstance(node, ast.comprehension):
        for less in _less_by_one(node.ifs):
            yield ast.comprehension(node.target, node.iter, less, node.is_async)


def _less_by_one(nodes: Sequence[N]) -> Iterator[list[N]]:
    for place in range(len(nodes)):
        yield [*nodes[:place], *nodes[place + 1 :]]


def _other_constants(value: object) -> Iterator[ast.AST]:
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield from (ast.Constant(value + 1), ast.Constant(value - 1))
    elif isinstance(value, str):
        yield ast.Constant(f"XX{value}XX")
    elif value is None:
        yield ast.Constant("")


def _other_expressions(node: ast.expr) -> Iterator[ast.AST]:
    match node:
        case ast.UnaryOp(operand=operand):
            yield operand
        case ast.BoolOp(op=op, values=values):
            for less in _less_by_one(values):
                yield less[0] if len(less) == 1 else ast.BoolOp(op, less)
        case ast.IfExp(body=body, orelse=other):
            yield from (body, other)
        case ast.Tuple(elts=elements) | ast.List(elts=elements):
            for less in _less_by_one(elements) if len(elements) > 1 else ():
                yield type(node)(less, ast.Load())
        case ast.Call():
            yield from _other_calls(node)
        case ast.Name(id=name) if name in _NAMES:
            yield ast.Name(_NAMES[name], ast.Load())
        case ast.Attribute(value=value, attr=name) if name in _NAMES:
            yield ast.Attribute(value, _NAMES[name], ast.Load())
        case _:
            pass


def _other_calls(node: ast.Call) -> Iterator[ast.AST]:
    for place, each in enumerate(node.args):
        if not isinstance(each, ast.Starred | ast.GeneratorExp):
            others: list[ast.expr] = [*node.args]
            others[place] = ast.Constant(None)
            yield ast.Call(node.func, others, node.keywords)
    for less in _less_by_one(node.keywords):
        if any(_only_says(each) for each in node.keywords if each not in less):
            continue
        yield ast.Call(node.func, node.args, less)
    if isinstance(node.func, ast.Name) and node.func.id == "sorted":
        yield node.args[0]


def _other_statements(node: ast.stmt) -> Iterator[ast.AST]:
    match node:
        case ast.Return(value=ast.expr()):
            yield ast.Return(None)
        case ast.Assign(targets=targets):
            yield ast.Assign(targets, ast.Constant(None))
        case ast.AugAssign(target=target, value=value):
            yield from (ast.Pass(), ast.Assign([target], value))
        case ast.Expr(value=ast.Yield() | ast.YieldFrom()):
            # It must stay a generator.
            yield ast.If(ast.Constant(False), [node], [])
        case ast.Expr() | ast.Raise():
            yield ast.Pass()
        case ast.Continue():
            yield from (ast.Break(), ast.Pass())
        case ast.Break():
            yield ast.Continue()
        case ast.If(body=body, orelse=other):
            yield ast.If(ast.Constant(True), body, other)
            yield ast.If(ast.Constant(False), body, other)
        case ast.Match(subject=subject, cases=cases):
            yield from (ast.Match(subject, less) for less in _less_by_one(cases))
        case _:
            pass
