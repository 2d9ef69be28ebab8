"""The rooms: arrows point down, files stay small, no crop and no threshold of one in the code."""

import ast
import re
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FILES = {
    p: package
    for package in ("suitability", "layers", "maps")
    for p in (ROOT / package).rglob("*.py")
}
ALLOWED = {
    "suitability": {"suitability", "numpy", "pandas", "numba", "scipy"},
    "layers": {"layers", "suitability"},
    "maps": {"maps", "layers", "suitability"},
}
MOST_LINES = 350


def _imports(path):
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            yield node.module or ""


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_run_one_way(path):
    package = FILES[path]
    rooms = {"suitability", "layers", "maps"}
    for name in _imports(path):
        top = name.split(".")[0]
        if top in rooms:
            assert top in ALLOWED[package], f"{path} imports {name}"
        elif package == "suitability":
            import sys

            assert top in ALLOWED[package] | set(sys.stdlib_module_names), f"{path} imports {name}"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_file_is_one_idea(path):
    text = path.read_text("utf-8")
    assert text.count("\n") <= MOST_LINES
    if path.name == "__init__.py":
        body = ast.parse(text).body
        assert len(body) == 1 and isinstance(body[0], ast.Expr), "an __init__ holds its docstring"
    else:
        assert ast.get_docstring(ast.parse(text)), "says what the file answers"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_crop_is_named_in_code(path):
    text = path.read_text("utf-8")
    for crop in (ROOT / "suitability" / "crops").glob("*.toml"):
        for name in (crop.stem, crop.stem.replace("_", " ")):
            assert not re.search(name, text, re.IGNORECASE), f"{path} names {name}"


def test_only_the_gathering_code_may_reach_the_network():
    reaching = {"urllib", "requests", "httpx", "aiohttp", "socket", "http", "soildb"}
    for path in FILES:
        if "gather" not in path.parts:
            found = {n.split(".")[0] for n in _imports(path)} & reaching
            assert not found, f"{path} imports {found}"


def test_only_its_own_command_loads_the_gathering_code():
    for path in FILES:
        if "gather" not in path.parts and path.name != "gather.py":
            found = {n for n in _imports(path) if n.startswith("layers.gather.")}
            assert not found, f"{path} imports {found}"


def test_nothing_is_installed_that_the_program_does_not_use():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    wheels = {re.split(r"[<>=~!]", line)[0] for line in project["dependencies"]}
    wheel_of = packages_distributions()
    tops = {name.split(".")[0] for path in FILES for name in _imports(path)}
    used = {wheel.lower() for top in tops for wheel in wheel_of.get(top, [])}
    # Wheels of files alone are opened by their name.
    text = "".join(path.read_text("utf-8") for path in FILES)
    used |= {wheel for wheel in wheels if f'"{wheel}"' in text}
    assert wheels <= used
