"""Demo sets on disk without their relations, names and comments kept."""

from __future__ import annotations

import shutil
from pathlib import Path

import propagate

_RELATIONS_FROM = "# --- the full front"


def bare_folder(demo: str, target: Path) -> Path:
    """Copy a demo set whose set.toml ends before its first relation."""
    source = propagate.demo_path(demo)
    shutil.copytree(source / "geometry", target / "geometry")
    text = (source / "set.toml").read_text(encoding="utf-8")
    head = text[: text.index(_RELATIONS_FROM)]
    (target / "set.toml").write_text(head, encoding="utf-8")
    return target
