"""Dependencies point one way: cli and report -> engine -> pattern -> geometry, io beside.

What is recognised in a drawing (`recognise`) stands between the pattern model and io; what suggests
how pieces are joined (`suggesting`) beside the engine.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "propagate"

BASE = {"counts", "errors", "lengths", "tolerances", "visible", "values"}
"""Modules without a layer: they import nothing of the project."""
LIGHT = {"propagate.errors", "propagate.visible"}
"""What a command may import before it runs."""
ENGINE_IN_IO = {
    "cut_boundary",
    "record_json",
    "result_folder",
    "cut_lines",
    "edits_toml",
}
"""A result is a set and a record, and records and cut lines are the engine's."""

ENGINE_IN_SUGGESTING = {
    "propagate.engine.levels",
    "propagate.engine.review.taken",
    "propagate.engine.tape",
}
"""What is sewn to nothing, pieces that are taped together, and how wide they are at a level."""

MAY_IMPORT = {
    "geometry": {"geometry", "tolerances", "values"},
    "pattern": {"pattern", "geometry", *BASE},
    "recognise": {"recognise", "pattern", "geometry", *BASE},
    "engine": {"engine", "pattern", "geometry", *BASE},
    "suggesting": {"suggesting", "engine", "pattern", "geometry", *BASE},
    "io": {"io", "recognise", "pattern", "geometry", *BASE},
    "report": {"report", "suggesting", "engine", "pattern", "geometry", *BASE},
    "cli": {
        *("cli", "demo", "report", "suggesting", "engine", "io", "recognise", "pattern"),
        *("geometry", *BASE),
    },
    "demo": {"errors"},
    "api": {"report", "engine", "io", "pattern", "geometry", *BASE},
    "__main__": {"cli"},
    **{name: set() for name in BASE},
}
LIBRARIES = {
    "geometry": {"numpy", "shapely"},
    "pattern": {"numpy", "shapely", "networkx"},
    "recognise": {"numpy"},
    "engine": {"numpy", "shapely", "networkx"},
    "suggesting": {"numpy", "networkx"},
    "io": {"numpy", "shapely", "ezdxf", "pikepdf"},
    "report": {"numpy", "shapely", "pydyf", "uharfbuzz", "bidi", "jinja2", "markupsafe"},
    "cli": {"click"},
}
FILES = {"glob", "io", "os", "pathlib", "shutil", "tempfile"}
"""Modules of the standard library that touch files."""

CORE = ("geometry", "pattern", "recognise", "engine", "suggesting")

MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path != PACKAGE / "__init__.py")
"""All but the package itself, whose names are those of every layer, imported when used."""


def layer_of(path: Path) -> str:
    part = path.relative_to(PACKAGE).parts[0]
    return part.removesuffix(".py")


@cache
def imports(path: Path) -> tuple[tuple[str, int], ...]:
    """Every module that a file imports, also inside functions, with the line."""
    return tuple(_imports(path, ast.parse(path.read_text(encoding="utf-8"))))


def _imports(path: Path, tree: ast.AST) -> Iterator[tuple[str, int]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: write imports out in full"
            module = node.module or ""
            if module == "propagate":
                yield from ((f"propagate.{alias.name}", node.lineno) for alias in node.names)
            else:
                yield module, node.lineno


def test_every_layer_has_its_rule() -> None:
    found = {layer_of(path) for path in MODULES}
    assert found == set(MAY_IMPORT)


@pytest.mark.parametrize("layer", sorted(MAY_IMPORT))
def test_imports_point_downwards(layer: str) -> None:
    faults = [fault for path in MODULES if layer_of(path) == layer for fault in upwards(path)]
    assert not faults, "\n".join(faults)


def upwards(path: Path) -> Iterator[str]:
    """What a module imports and may not."""
    layer = layer_of(path)
    allowed = MAY_IMPORT[layer] | ({"engine"} if path.stem in ENGINE_IN_IO else set())
    for name, line in imports(path):
        root, _, rest = name.partition(".")
        if root == "propagate":
            if rest.partition(".")[0] not in allowed:
                yield f"{path}:{line}: {layer} may not import {name}"
        elif root not in sys.stdlib_module_names and root not in LIBRARIES.get(layer, set()):
            yield f"{path}:{line}: {layer} imports {name}"


def test_suggesting_needs_little_of_the_engine() -> None:
    found = {
        name
        for path in MODULES
        if layer_of(path) == "suggesting"
        for name, _ in imports(path)
        if name.startswith("propagate.engine")
    }
    assert found == ENGINE_IN_SUGGESTING


def test_the_core_touches_no_files() -> None:
    core = [path for path in MODULES if layer_of(path) in CORE]
    assert len(core) > 100
    for path in core:
        assert not FILES & {name.partition(".")[0] for name, _ in imports(path)}, path
        text = path.read_text(encoding="utf-8")
        if re.search(r"\b(open|print|input)\s*\(", text):  # to parse all again takes long
            calls = [
                node.lineno
                for node in ast.walk(ast.parse(text))
                if isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id in ("open", "print", "input")
            ]
            assert not calls, f"{path}: lines {calls}"


def test_a_command_imports_nothing_heavy_before_it_runs() -> None:
    for path in sorted((PACKAGE / "cli").glob("*.py")):
        at_the_top = {
            name
            for node in ast.parse(path.read_text(encoding="utf-8")).body
            if isinstance(node, ast.Import | ast.ImportFrom)
            for name in (
                [node.module or ""]
                if isinstance(node, ast.ImportFrom)
                else [alias.name for alias in node.names]
            )
        }
        ours = {name for name in at_the_top if name.startswith("propagate")}
        assert all(n.startswith("propagate.cli") or n in LIGHT for n in ours), path
        theirs = {name.partition(".")[0] for name in at_the_top - ours}
        assert theirs - set(sys.stdlib_module_names) <= {"click"}, path


def test_frozen_values_come_from_one_place() -> None:
    """Those of the standard library take a command five times as long to make."""
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        if path.name != "values.py" and "@dataclass(frozen=True)" in text:
            assert "from propagate.values import dataclass" in text, (
                f"{path}: write 'from propagate.values import dataclass'"
            )


CLOCKS = {"time", "timeit"}
TESTS = sorted(
    path
    for path in Path(__file__).resolve().parent.rglob("*.py")
    if path.stem.startswith("test_") or path.stem in ("conftest", "shared", "examples", "effort")
)


def test_no_test_looks_at_a_clock() -> None:
    """What takes how long is another thing on every machine: `tests/effort.py` counts calls."""
    assert len(TESTS) > 100
    for path in TESTS:
        if not any(clock in path.read_text(encoding="utf-8") for clock in CLOCKS):
            continue  # to parse all takes long
        for name, line in imports(path):
            assert name not in CLOCKS, f"{path}:{line}: count calls with 'tests.effort' instead"
