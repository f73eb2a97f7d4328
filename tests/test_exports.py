"""What the package offers by name, and that importing it stays quick."""

import ast
import importlib
import inspect
import pkgutil
import subprocess
import sys
from pathlib import Path

import pytest

import caddiebrain as cb

MODULES = sorted(
    info.name
    for info in pkgutil.walk_packages(cb.__path__, prefix="caddiebrain.")
    if not info.name.endswith("__main__")
)


def test_the_public_face():
    assert sorted(cb.__all__) == cb.__all__ == dir(cb)
    for name in cb.__all__:
        assert getattr(cb, name) is not None, name


def test_type_checkers_and_python_see_the_same_names():
    tree = ast.parse(Path(cb.__file__).read_text(encoding="utf-8"))
    block = next(node for node in tree.body if isinstance(node, ast.If))
    typed = {
        alias.asname or alias.name
        for node in block.body
        if isinstance(node, (ast.Import, ast.ImportFrom))
        for alias in node.names
    }
    assert typed | {"__version__"} == set(cb.__all__)


def test_an_unknown_name_is_refused():
    with pytest.raises(AttributeError, match="no attribute 'birdie'"):
        _ = cb.birdie


@pytest.mark.parametrize("module", MODULES)
def test_every_module_lists_its_names(module):
    mod = importlib.import_module(module)
    assert isinstance(mod.__all__, list)
    assert len(set(mod.__all__)) == len(mod.__all__)
    for name in mod.__all__:
        assert hasattr(mod, name), name


@pytest.mark.parametrize("module", MODULES)
def test_no_public_definition_is_left_out(module):
    mod = importlib.import_module(module)
    if not mod.__file__ or mod.__file__.endswith("__init__.py"):
        return
    tree = ast.parse(Path(mod.__file__).read_text(encoding="utf-8"))
    defined = {
        node.name
        for node in tree.body
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)) and not node.name.startswith("_")
    }
    assert defined - set(mod.__all__) == set()


@pytest.mark.parametrize("module", MODULES)
def test_every_public_name_is_documented(module):
    mod = importlib.import_module(module)
    for name in mod.__all__:
        thing = getattr(mod, name)
        if not (inspect.isclass(thing) or inspect.isfunction(thing)):
            continue
        assert inspect.getdoc(thing), name
        if inspect.isclass(thing) and thing.__module__.startswith("caddiebrain"):
            for attribute, member in vars(thing).items():
                if inspect.isfunction(member) and not attribute.startswith("_"):
                    assert inspect.getdoc(member), f"{name}.{attribute}"


def test_importing_the_package_loads_nothing_heavy():
    heavy = "{'numpy', 'scipy', 'networkx', 'pulp', 'pydantic', 'shapely', 'typer', 'rich'}"
    code = f"import sys, caddiebrain; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_solving_and_planning_wait_for_the_heavy_packages():
    code = (
        "import sys, caddiebrain as cb; cb.StateGraph, cb.solve, cb.plan_round;"
        "print(sorted({'networkx', 'pulp', 'highspy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_types_are_shipped():
    assert (Path(cb.__file__).parent / "py.typed").is_file()
