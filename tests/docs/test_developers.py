"""The guide for contributors names files and names that are there."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def home_of(path: str) -> Path | None:
    """Where a path of the guide is: in the repository, in the package, or in its engine."""
    for base in (ROOT, ROOT / "propagate", ROOT / "propagate" / "engine"):
        if (base / path).exists():
            return base / path
    return None


def test_every_file_and_folder_is_there() -> None:
    named = re.findall(r"`(?:python |bash )?((?:[\w.]+/)+[\w.]*|[\w]+\.(?:py|md|toml))`", TEXT)
    paths = [path for path in named if "NAME" not in path]
    assert len(paths) > 20
    # a table names folders inside the folder of its row
    inside = [p for p in paths if home_of(p) is None]
    assert all(any((ROOT / "propagate").rglob(p.rstrip("/"))) for p in inside), inside


def test_every_name_in_a_module_is_there() -> None:
    for module, name in re.findall(r"`([a-z_]+(?:\.[a-z_]+)*)\.(_?[A-Za-z]\w+)`", TEXT):
        path = home_of(module.replace(".", "/") + ".py") or next(
            (ROOT / "propagate").rglob(f"{module.replace('.', '/')}.py"), None
        )
        if path is not None and name != "py":
            assert name in path.read_text(encoding="utf-8"), f"{module}.{name}"


def test_every_library_has_its_reason() -> None:
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    wanted = set(re.findall(r'^    "([\w-]+)>=', project, re.MULTILINE))
    table = TEXT.partition("## Libraries")[2].partition("\n## ")[0]
    named = set(re.findall(r"[\w-]+", table))
    assert {name.removeprefix("pytest-") for name in wanted} <= named
