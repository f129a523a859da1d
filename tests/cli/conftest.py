"""One result, written once, for every test of the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from propagate.cli.app import cli
from propagate.demo import demo_path
from tests.shared import loads_kept

Run = Callable[..., Result]

TROUSER = str(demo_path("slant_trouser"))
SKIRT = str(demo_path("scoop_skirt"))
ZIP = """
[[seam]]
name = "zip"
lead = ["front.waist"]
follow = ["belt_loop.left"]
fixed = true
"""


def run(*words: str, **options: Any) -> Result:
    with loads_kept():
        return CliRunner().invoke(cli, list(words), prog_name="propagate", **options)


def plain(result: Result) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(result.stdout)
    assert found["format"] == 1
    return found


@pytest.fixture(scope="session")
def result_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("results") / "result"
    done = run("blend", TROUSER, "--size", "waist=42", "--size", "hip=44", "-o", str(folder))
    assert done.exit_code == 0, done.output
    return folder


@pytest.fixture
def conflicting(tmp_path: Path) -> Path:
    """The trousers with a fixed piece sewn to an edge that a blend changes."""
    import shutil

    folder = tmp_path / "conflicting"
    shutil.copytree(demo_path("slant_trouser"), folder)
    with (folder / "set.toml").open("a", encoding="utf-8") as stream:
        stream.write(ZIP)
    return folder
