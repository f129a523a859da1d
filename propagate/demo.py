"""The demonstration sets that come with the package, and their main jobs."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from propagate.errors import OutputError, UnknownName

__all__ = [
    "DRAWN_DEMO",
    "FIRST_DEMO",
    "MAIN_JOBS",
    "demo_names",
    "demo_path",
    "drawn_files",
    "edit_files",
    "revised_files",
]

FIRST_DEMO = "slant_trouser"

DRAWN_DEMO = "garden_apron"
"""Drawings and how they are sewn, to begin a set from; no set yet."""

MAIN_JOBS: Mapping[str, Mapping[str, str]] = {
    "slant_trouser": {"waist": "42", "hip": "48"},
    "scoop_skirt": {"natural_waist": "S", "seat": "L"},
    "workshop_gilet": {"waist": "90", "hip": "102"},
    "lined_skirt": {"waist": "10", "hip": "16"},
    "ferry_shirt": {"bust": "42", "waist": "39", "hip": "40"},
    "quay_jeans": {"waist": "30", "hip": "34"},
    "concert_dress": {"bust": "40", "waist": "44", "hip": "42"},
    "market_bag": {"foot": "16", "mouth": "13"},
    "puddle_pinafore": {"chest": "104", "hem": "122"},
}
"""Demo set to the sizes that its main job blends."""


def demo_names() -> tuple[str, ...]:
    """Return the names of the demo sets, the first one first.

    Raises
    ------
    OutputError
        When the package was installed without them.
    """
    names = sorted(path.parent.name for path in _find_folder().glob("*/set.toml"))
    return tuple(sorted(names, key=lambda name: name != FIRST_DEMO))


def demo_path(name: str = FIRST_DEMO) -> Path:
    """Return the folder of a demo set.

    Raises
    ------
    UnknownName
        With the nearest names.
    """
    if name not in demo_names():
        raise UnknownName("demo set", name, (*demo_names(), DRAWN_DEMO))
    return _find_folder() / name


def drawn_files() -> dict[str, bytes]:
    """Return the drawings of which no set is made yet, and the file of their relations."""
    folder = _find_folder() / DRAWN_DEMO
    paths = [*sorted(folder.glob("*.svg")), folder / "relations.toml"]
    return {path.name: path.read_bytes() for path in paths}


def revised_files(name: str) -> dict[str, bytes]:
    """Return the revised drawings that come with a demo set, by their file names."""
    folder = demo_path(name) / "revised"
    return {path.name: path.read_bytes() for path in sorted(folder.glob("*")) if path.is_file()}


def edit_files(name: str) -> dict[str, bytes]:
    """Return the file of edits that comes with a demo set, by its name; nothing when none does."""
    path = demo_path(name) / "edits.toml"
    return {path.name: path.read_bytes()} if path.is_file() else {}


def _find_folder() -> Path:
    """Demo sets inside the installed package, else beside it (a checkout)."""
    package = Path(__file__).resolve().parent
    for folder in (package / "demo_sets", package.parent / "demo_sets"):
        if any(folder.glob("*/set.toml")):
            return folder
    raise OutputError(
        f"no demo sets were found in '{package / 'demo_sets'}'; install the package again"
    )
