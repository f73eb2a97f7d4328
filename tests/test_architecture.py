"""The house rules that a machine can check: who imports whom, how long a file is, what is not written.

The package under test is the one that Python imports, which in continuous integration is the installed wheel.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import networkx as nx
import pytest

import caddiebrain

HOME = Path(caddiebrain.__file__).parent
FILES = sorted(HOME.rglob("*.py"))
TREES = {file: ast.parse(file.read_text(encoding="utf-8")) for file in FILES}

EARLIER = {
    "terms": set(),
    "errors": set(),
    "version": set(),
    "faults": set(),
    "opening": set(),
    "graph": set(),
    "solve": {"graph"},
    "course": {"opening", "terms"},
    "player": {"opening", "terms"},
    "flight": {"terms"},
    "hole": {"graph", "course", "player", "flight", "terms"},
    "round": {"hole", "solve", "graph", "course", "player", "flight", "opening", "terms"},
    "insight": {"round", "hole", "solve", "graph", "course", "player", "flight", "terms"},
    "plots": {"insight", "round", "hole", "solve", "graph", "course", "player", "flight", "terms"},
    "report": {"insight", "round", "hole", "solve", "graph", "course", "player", "flight", "terms"},
    "batch": {"round", "hole", "course", "player", "flight", "terms", "faults", "version"},
    "schemas": {
        "batch",
        "faults",
        "insight",
        "round",
        "hole",
        "solve",
        "graph",
        "course",
        "player",
        "flight",
        "terms",
    },
    "demo": {"course", "player"},
    "testing": {"round", "hole", "solve", "graph", "course", "player", "flight", "terms"},
}
"""Room -> rooms whose names it may use; every room may raise ``errors``. Rooms not listed are doors."""
SHORTCUTS = {("caddiebrain.round.hole_plan", "draw"): "caddiebrain.plots"}
"""Module and method -> the later room it opens, when it is called and never before.

``plan.hole(7).draw()`` is where someone with a plan in hand looks for a picture. The method hands itself over and
returns what it is given; nothing else of the room knows that there are pictures.
"""

DOORS = {"cli", "service", "__main__", "__init__"}

LAZY = {
    "networkx",
    "pulp",
    "highspy",
    "numba",
    "narwhals",
    "pandas",
    "polars",
    "matplotlib",
    "fastapi",
    "uvicorn",
    "starlette",
    "jinja2",
}
"""Heavy or optional: these alone may be imported inside a function."""


def room_of(file: Path) -> str:
    first = file.relative_to(HOME).parts[0]
    return first.removesuffix(".py")


def module_of(file: Path) -> str:
    parts = ("caddiebrain", *file.relative_to(HOME).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {module_of(file) for file in FILES}


def is_type_checking(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)


def walk_run_time(tree: ast.AST) -> Iterator[ast.AST]:
    """Every node except those that only a type checker sees."""
    for child in ast.iter_child_nodes(tree):
        if not is_type_checking(child):
            yield child
            yield from walk_run_time(child)


def imported(nodes: Iterator[ast.AST], file: Path) -> set[str]:
    """Full names of the modules a file imports; relative imports are resolved."""
    names: set[str] = set()
    package = module_of(file) if file.name == "__init__.py" else module_of(file).rpartition(".")[0]
    for node in nodes:
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, base] if base else above)
            full = {f"{base}.{alias.name}" for alias in node.names}
            names |= full if full <= MODULES else full | {base}
    return names


def shortcut_nodes(file: Path) -> list[ast.AST]:
    """The methods of a file that may open a later room."""
    methods = {method for module, method in SHORTCUTS if module == module_of(file)}
    return [n for n in ast.walk(TREES[file]) if isinstance(n, ast.FunctionDef) and n.name in methods]


def shortcuts(file: Path) -> set[str]:
    """Modules imported in those methods, which must be the ones that are listed."""
    found = {name for node in shortcut_nodes(file) for name in imported(ast.walk(node), file)}
    assert found <= set(SHORTCUTS.values())
    return found


def test_every_shortcut_is_taken_and_short():
    taken = {(module_of(f), node.name) for f in FILES for node in shortcut_nodes(f)}
    assert taken == set(SHORTCUTS)
    assert all(body_lines(node) <= 3 for f in FILES for node in shortcut_nodes(f))


def test_every_room_is_listed():
    rooms = {room_of(file) for file in FILES}
    assert {"graph", "solve", "course", "player", "hole", "round"} <= rooms
    assert rooms <= set(EARLIER) | DOORS


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(HOME)))
def test_a_room_imports_only_earlier_rooms(file):
    room = room_of(file)
    if room in DOORS:
        return
    ours = {
        name.split(".")[1]
        for name in imported(ast.walk(TREES[file]), file) - shortcuts(file)
        if name.startswith("caddiebrain.")
    }
    assert ours - {room, "errors"} <= EARLIER[room]
    assert "caddiebrain" not in {n for n in imported(walk_run_time(TREES[file]), file) if "." not in n}


def test_no_import_cycles():
    web: nx.DiGraph[str] = nx.DiGraph()
    for file in FILES:
        own = {module_of(file), "caddiebrain"} | shortcuts(file)
        for name in imported(walk_run_time(TREES[file]), file) & MODULES - own:
            web.add_edge(module_of(file), name)
    assert web.number_of_edges() > 10
    assert [ring for ring in nx.strongly_connected_components(web) if len(ring) > 1] == []


def iter_top(tree: ast.AST) -> Iterator[ast.AST]:
    """Nodes that run when the module is imported."""
    for child in ast.iter_child_nodes(tree):
        if not is_type_checking(child) and not isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef)):
            yield child
            yield from iter_top(child)


def within(name: str, modules: set[str]) -> bool:
    """Whether a name is one of the modules, or stands in one."""
    return name in modules or name.rpartition(".")[0] in modules


def heavy_modules() -> set[str]:
    """Modules whose import loads a heavy or optional package, themselves or through another of ours."""
    tops = {module_of(file): imported(iter_top(TREES[file]), file) for file in FILES}
    heavy = {module for module, names in tops.items() if {name.split(".")[0] for name in names} & LAZY}
    while more := {m for m, names in tops.items() if any(within(name, heavy) for name in names)} - heavy:
        heavy |= more
    return heavy


HEAVY = heavy_modules()
"""Imported inside the function that needs them, never when a room is opened."""


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(HOME)))
def test_imports_stand_at_the_top(file):
    hidden = set()
    for node in ast.walk(TREES[file]):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            hidden |= imported(ast.walk(node), file)
    assert {
        n for n in hidden - shortcuts(file) if n.split(".")[0] not in LAZY and not within(n, HEAVY)
    } == set()


def test_rooms_open_without_heavy_packages():
    doors = {module_of(file) for file in FILES if file.name == "__init__.py"}
    assert HEAVY & doors == set()


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(HOME)))
def test_a_file_is_a_room_one_can_live_in(file):
    lines = len(file.read_text(encoding="utf-8").splitlines())
    assert lines <= 400, f"{lines} lines"


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function's body without its docstring."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return (function.end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_nine_functions_in_ten_are_short():
    sizes = [
        body_lines(node)
        for tree in TREES.values()
        for node in ast.walk(tree)
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))
    ]
    assert sum(size < 30 for size in sizes) >= 0.9 * len(sizes)


FORBIDDEN_TEXT = {
    "a machine's path": re.compile(r"(?<![\w.])/(?:work|tmp|root|home|Users)/"),
    "an unfinished part": re.compile(r"\b(?:TODO|FIXME|XXX|HACK|NotImplementedError)\b"),
    "a star import": re.compile(r"^\s*from \S+ import \*", re.MULTILINE),
    "a global random generator": re.compile(r"\bnp\.random\.(?!default_rng|Generator|SeedSequence)\w+"),
}


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(HOME)))
@pytest.mark.parametrize("what", FORBIDDEN_TEXT)
def test_forbidden_text(file, what):
    found = FORBIDDEN_TEXT[what].search(file.read_text(encoding="utf-8"))
    assert found is None, f"{what}: {found and found.group()}"


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(HOME)))
def test_assert_is_never_an_input_check(file):
    asserts = [node.lineno for node in ast.walk(TREES[file]) if isinstance(node, ast.Assert)]
    assert asserts == []


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(HOME)))
def test_only_doors_write_to_the_terminal(file):
    if room_of(file) in DOORS:
        return
    prints = [
        node.lineno
        for node in ast.walk(TREES[file])
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print"
    ]
    assert prints == []


@pytest.mark.parametrize("file", [f for f in FILES if room_of(f) == "report"], ids=lambda f: f.name)
def test_reports_do_no_arithmetic(file):
    sums = [
        node.lineno
        for node in ast.walk(TREES[file])
        if isinstance(node, ast.BinOp) and not isinstance(node.op, (ast.Add, ast.BitOr))
    ]
    numeric = imported(ast.walk(TREES[file]), file) & {"numpy", "scipy", "math", "statistics"}
    assert (sums, numeric) == ([], set())
