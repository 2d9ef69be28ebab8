"""Every text that a Note can have, read out of the program's own source, values as holes.

The rooms below know no language, so their notes are English sentences built where they are known.
This walks every ``Note(layer, level, text)`` and follows ``text`` through f-strings, sums, choices,
assignments, helper functions and arguments, as far as words of the program go; all else is a hole.
"""

import ast
import itertools
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

HOLE = "7"  # stands for any value: a number where one is expected, and no word
ROOMS = ("suitability", "layers", "maps")
_MOST = 400  # combinations of one text; more than this is a text that cannot be followed
_DEEP = 12


@dataclass
class Module:
    """One source file: its functions, constants and imported names."""

    path: Path
    tree: ast.Module
    functions: dict[str, ast.FunctionDef] = field(default_factory=dict)
    constants: dict[str, ast.expr] = field(default_factory=dict)
    imported: dict[str, tuple[str, str]] = field(default_factory=dict)
    parents: dict[int, ast.AST] = field(default_factory=dict)


@dataclass(frozen=True)
class Scope:
    """Where an expression stands: module, function, and what its arguments were called with."""

    module: str
    function: str | None
    bound: tuple[tuple[str, tuple[str, ...]], ...] = ()


Reading = Callable[[ast.expr, Scope, int], list[str]]


@cache
def modules() -> dict[str, Module]:
    """Read all modules of the program by dotted name."""
    top = Path(__file__).parents[2]
    found = {}
    for room in ROOMS:
        for path in sorted((top / room).rglob("*.py")):
            dotted = ".".join(path.relative_to(top).with_suffix("").parts)
            module = Module(path, ast.parse(path.read_text("utf-8")))
            for node in ast.walk(module.tree):
                for child in ast.iter_child_nodes(node):
                    module.parents[id(child)] = node
                if isinstance(node, ast.FunctionDef):
                    module.functions[node.name] = node
                elif isinstance(node, ast.ImportFrom) and node.module:
                    for name in node.names:
                        module.imported[name.asname or name.name] = (node.module, name.name)
            for node in module.tree.body:
                for name, value in _assigned(node):
                    module.constants[name] = value
            found[dotted] = module
    return found


def note_templates() -> dict[str, str]:
    """Every text of a Note with ``HOLE`` for each value, and where it is made."""
    told: dict[str, str] = {}
    for dotted, module in modules().items():
        for function, call in _calls(module, "Note"):
            named = {k.arg: k.value for k in call.keywords}
            text = call.args[2] if len(call.args) > 2 else named["text"]
            where = f"{dotted}:{call.lineno}"
            for template in texts(text, Scope(dotted, function)):
                told.setdefault(template, where)
    return told


def note_layers() -> set[str]:
    """Every layer that a Note can be about."""
    return {
        layer
        for dotted, module in modules().items()
        for function, call in _calls(module, "Note")
        for layer in texts(call.args[0], Scope(dotted, function))
    } - {HOLE}


def returned(module: str, function: str, place: int = 0) -> list[str]:
    """Every text that a function of the program gives back, alone or at a place of a pair."""
    node = modules()[module].functions[function]
    values = [n.value for n in ast.walk(node) if isinstance(n, ast.Return) and n.value]
    values = [
        way for v in values for way in ((v.body, v.orelse) if isinstance(v, ast.IfExp) else (v,))
    ]
    values = [v.elts[place] if isinstance(v, ast.Tuple) else v for v in values]
    return [t for value in values for t in texts(value, Scope(module, function))]


def given_to(callee: str, place: int, room: str = "") -> list[str]:
    """Every text that calls of a name, in modules of a room, have at a place of their arguments."""
    return [
        t
        for dotted, module in modules().items()
        if dotted.startswith(room)
        for inside, call in _calls(module, callee)
        if len(call.args) > place
        for t in texts(call.args[place], Scope(dotted, inside))
    ]


def texts(node: ast.expr, scope: Scope, deep: int = 0) -> list[str]:
    """All texts that an expression can be."""
    found = list(dict.fromkeys(_texts(node, scope, deep)))
    return found if len(found) <= _MOST else [HOLE]


def _texts(node: ast.expr, scope: Scope, deep: int) -> list[str]:
    if deep > _DEEP:
        return [HOLE]
    if isinstance(node, ast.Constant):
        return [str(node.value)] if isinstance(node.value, str) else [HOLE]
    if isinstance(node, ast.JoinedStr):
        return _joined([_part(p, scope, deep) for p in node.values])
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return _joined([texts(side, scope, deep + 1) for side in (node.left, node.right)])
    if isinstance(node, ast.IfExp):
        if isinstance(node.test, ast.Name):
            return _by_itself(node, node.test, scope, deep)
        return texts(node.body, scope, deep + 1) + texts(node.orelse, scope, deep + 1)
    if isinstance(node, ast.BoolOp):
        return [t for value in node.values for t in texts(value, scope, deep + 1) if t]
    if isinstance(node, ast.NamedExpr):
        return texts(node.value, scope, deep + 1)
    if isinstance(node, ast.Name):
        return _name(node, scope, deep)
    if isinstance(node, ast.Subscript):
        return _chosen(node, scope, deep)
    if isinstance(node, ast.Call):
        return _called(node, scope, deep)
    return [HOLE]


def _by_itself(node: ast.IfExp, asked: ast.Name, scope: Scope, deep: int) -> list[str]:
    """``a if name else b``: where the name's own text is known, only what follows from it."""
    held = texts(asked, scope, deep + 1)
    full = tuple(t for t in held if t)
    inner = Scope(scope.module, scope.function, (*scope.bound, (asked.id, full)))
    said = texts(node.body, inner, deep + 1) if full else []
    empty = len(full) < len(held) or any(set(t) == {HOLE} for t in full)
    return said + (texts(node.orelse, scope, deep + 1) if empty else [])


def _part(node: ast.expr, scope: Scope, deep: int) -> list[str]:
    if not isinstance(node, ast.FormattedValue):
        return texts(node, scope, deep + 1)
    if node.format_spec is not None or node.conversion != -1:
        return [HOLE]
    return texts(node.value, scope, deep + 1)


def _joined(parts: list[list[str]]) -> list[str]:
    return ["".join(chosen) for chosen in itertools.islice(itertools.product(*parts), _MOST + 1)]


def _assigned(node: ast.AST) -> list[tuple[str, ast.expr]]:
    if isinstance(node, ast.Assign) and len(node.targets) == 1:
        target, value = node.targets[0], node.value
        if isinstance(target, ast.Name):
            return [(target.id, value)]
        if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
            pairs = zip(target.elts, value.elts, strict=False)
            return [(t.id, v) for t, v in pairs if isinstance(t, ast.Name)]
    if isinstance(node, ast.AnnAssign) and node.value and isinstance(node.target, ast.Name):
        return [(node.target.id, node.value)]
    if isinstance(node, ast.NamedExpr) and isinstance(node.target, ast.Name):
        return [(node.target.id, node.value)]
    if isinstance(node, ast.For) and isinstance(node.iter, ast.Tuple):
        if isinstance(node.target, ast.Name):
            return [(node.target.id, each) for each in node.iter.elts]
        if isinstance(node.target, ast.Tuple):
            rows = [each.elts for each in node.iter.elts if isinstance(each, ast.Tuple)]
            names = [t.id if isinstance(t, ast.Name) else "" for t in node.target.elts]
            return [pair for row in rows for pair in zip(names, row, strict=False)]
    return []


def _name(node: ast.Name, scope: Scope, deep: int) -> list[str]:
    name, bound = node.id, dict(scope.bound)
    module = modules()[scope.module]
    if scope.function is not None:
        known = _told(_before(node, module), name, [], scope, deep)
        if known:
            return known
        if name in bound:
            return list(bound[name])
        function = module.functions[scope.function]
        if name in _parameters(function):
            return _given(name, scope, deep)
        if any(_stores(n, name) for n in ast.walk(function)):
            return [HOLE]
    if name in module.constants:
        return texts(module.constants[name], Scope(scope.module, None), deep + 1)
    if name in module.imported:
        home, there = module.imported[name]
        if home in modules() and there in modules()[home].constants:
            return texts(modules()[home].constants[there], Scope(home, None), deep + 1)
    return [HOLE]


def _stores(node: ast.AST, name: str) -> bool:
    return isinstance(node, ast.Name) and node.id == name and isinstance(node.ctx, ast.Store)


def _before(node: ast.AST, module: Module) -> list[ast.AST]:
    """What was done before a place, in order, and what the place stands in."""
    done: list[ast.AST] = []
    child = node
    while not isinstance(child, (ast.FunctionDef, ast.Module)):
        above = module.parents[id(child)]
        for name in ("body", "orelse", "finalbody"):
            block = getattr(above, name, None)
            if isinstance(block, list) and child in block:
                done = block[: block.index(child)] + done
                if isinstance(above, ast.For):
                    done = [ast.For(above.target, above.iter, [], []), *done]
                if isinstance(above, ast.If):
                    done = [*(n for n in ast.walk(above.test) if _assigned(n)), *done]
        child = above
    return done


def _told(done: list[ast.AST], name: str, known: list[str], scope: Scope, deep: int) -> list[str]:
    """What a name can hold after these statements, when it held ``known`` before."""
    for each in done:
        assigned = [value for n, value in _assigned(each) if n == name]
        if assigned:
            known = [t for value in assigned for t in texts(value, scope, deep + 1)]
        elif isinstance(each, ast.AugAssign) and _stores(each.target, name):
            known = _joined([known or [HOLE], texts(each.value, scope, deep + 1)])
        elif isinstance(each, ast.If):
            ways = [block for block in (each.body, each.orelse) if not _leaves(block)]
            known = [t for way in ways for t in _told([*way], name, known, scope, deep)]
        elif isinstance(each, (ast.For, ast.While, ast.Try, ast.With)):
            known = [*known, *_told([*each.body], name, known, scope, deep)]
        known = list(dict.fromkeys(known))
    return known


def _leaves(block: list[ast.stmt]) -> bool:
    return bool(block) and isinstance(block[-1], (ast.Return, ast.Raise, ast.Continue))


def _parameters(function: ast.FunctionDef) -> list[str]:
    a = function.args
    return [p.arg for p in (*a.posonlyargs, *a.args, *a.kwonlyargs)]


def _bind(function: ast.FunctionDef, call: ast.Call) -> dict[str, ast.expr]:
    named = dict(zip(_parameters(function), call.args, strict=False))
    named.update({k.arg: k.value for k in call.keywords if k.arg})
    return named


def _given(name: str, scope: Scope, deep: int, read: Reading | None = None) -> list[str]:
    """What a function was called with, in the whole program."""
    function = modules()[scope.module].functions[scope.function or ""]
    found: list[str] = []
    for dotted, module in modules().items():
        alias = function.name if dotted == scope.module else None
        for local, origin in module.imported.items():
            if origin == (scope.module, function.name):
                alias = local
        if alias is None:
            continue
        for inside, call in _calls(module, alias):
            given = _bind(function, call)
            if name in given:
                found += (read or texts)(given[name], Scope(dotted, inside), deep + 1)
    return found or [HOLE]


def _calls(module: Module, name: str) -> list[tuple[str | None, ast.Call]]:
    """Calls of a plain name with the innermost function around each."""
    owner: dict[int, str] = {}
    for function in module.functions.values():
        for node in ast.walk(function):
            owner[id(node)] = function.name
    return [
        (owner.get(id(node)), node)
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name
    ]


def _chosen(node: ast.Subscript, scope: Scope, deep: int) -> list[str]:
    """One of the words of a constant table."""
    if not isinstance(node.value, ast.Name):
        return [HOLE]
    module = modules()[scope.module]
    table = module.constants.get(node.value.id)
    home = scope.module
    if scope.function is not None:
        for inner in ast.walk(module.functions[scope.function]):
            for name, value in _assigned(inner):
                if name == node.value.id and isinstance(value, ast.Dict):
                    table = value
    if table is None and node.value.id in module.imported:
        home, there = module.imported[node.value.id]
        table = modules()[home].constants.get(there) if home in modules() else None
    if isinstance(table, ast.Dict):
        return [t for v in table.values for t in texts(v, Scope(home, None), deep + 1)]
    return [HOLE]


def _elements(node: ast.expr, scope: Scope, deep: int) -> list[str]:
    """Texts that a list can hold, each as if it stood alone in it."""
    if deep > _DEEP:
        return [HOLE]
    if isinstance(node, (ast.ListComp, ast.GeneratorExp, ast.SetComp)):
        return texts(node.elt, scope, deep + 1)
    if isinstance(node, (ast.List, ast.Tuple)):
        return [t for each in node.elts for t in texts(each, scope, deep + 1)] or []
    if isinstance(node, ast.BinOp):
        return [t for side in (node.left, node.right) for t in _elements(side, scope, deep + 1)]
    if isinstance(node, ast.Subscript):
        return _elements(node.value, scope, deep + 1)
    if isinstance(node, ast.Call):
        called = node.func
        if isinstance(called, ast.Name) and called.id in ("sorted", "list", "set") and node.args:
            return _elements(node.args[0], scope, deep + 1)
        if isinstance(called, ast.Name) and called.id in modules()[scope.module].functions:
            function = modules()[scope.module].functions[called.id]
            inner = Scope(scope.module, called.id)
            returns = [n.value for n in ast.walk(function) if isinstance(n, ast.Return) and n.value]
            return [t for value in returns for t in _elements(value, inner, deep + 1)]
        if isinstance(called, ast.Attribute) and called.attr == "values":
            return _elements(called.value, scope, deep + 1)
    if isinstance(node, ast.Name):
        module = modules()[scope.module]
        function = module.functions.get(scope.function or "")
        found: list[str] = []
        if function is not None:
            for inner in ast.walk(function):
                for name, value in _assigned(inner):
                    if name == node.id:
                        found += _elements(value, scope, deep + 1)
                if isinstance(inner, ast.AugAssign) and _stores(inner.target, node.id):
                    found += _elements(inner.value, scope, deep + 1)
                if isinstance(inner, ast.Assign) and _item_of(inner.targets[0], node.id):
                    found += texts(inner.value, scope, deep + 1)
                if (
                    isinstance(inner, ast.Call)
                    and isinstance(inner.func, ast.Attribute)
                    and inner.func.attr == "append"
                    and isinstance(inner.func.value, ast.Name)
                    and inner.func.value.id == node.id
                ):
                    found += texts(inner.args[0], scope, deep + 1)
            if not found and node.id in _parameters(function):
                return _given(node.id, scope, deep, _elements)
        if found:
            return list(dict.fromkeys(found))
        if node.id in module.constants:
            return _elements(module.constants[node.id], Scope(scope.module, None), deep + 1)
    return [HOLE]


def _item_of(node: ast.expr, name: str) -> bool:
    return (
        isinstance(node, ast.Subscript)
        and isinstance(node.value, ast.Name)
        and node.value.id == name
    )


def _called(node: ast.Call, scope: Scope, deep: int) -> list[str]:
    func = node.func
    if isinstance(func, ast.Attribute):
        if func.attr in ("lower", "strip", "capitalize") and not node.args:
            return [getattr(t, func.attr)() for t in texts(func.value, scope, deep + 1)]
        if func.attr == "join" and len(node.args) == 1:
            return _elements(node.args[0], scope, deep + 1)
        return [HOLE]
    if not isinstance(func, ast.Name):
        return [HOLE]
    home, name = scope.module, func.id
    if name not in modules()[home].functions and name in modules()[home].imported:
        home, name = modules()[home].imported[name]
    if home not in modules() or name not in modules()[home].functions:
        return [HOLE]
    function = modules()[home].functions[name]
    bound = tuple(
        (parameter, tuple(texts(value, scope, deep + 1)))
        for parameter, value in _bind(function, node).items()
    )
    inner = Scope(home, name, bound)
    returns = [n.value for n in ast.walk(function) if isinstance(n, ast.Return) and n.value]
    return [t for value in returns for t in texts(value, inner, deep + 1)] or [HOLE]
