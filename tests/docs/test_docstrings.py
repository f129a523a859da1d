"""Examples in docstrings say what the program does."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

import propagate

ROOT = Path(propagate.__file__).parent
WITH_EXAMPLES = sorted(
    ".".join(file.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__")
    for file in ROOT.rglob("*.py")
    if ">>> " in file.read_text("utf-8")
)


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_the_examples_of_a_module_hold(name: str, tmp_path: Path) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path)
        done = doctest.testmod(importlib.import_module(name))
    assert done.attempted > 0
    assert done.failed == 0
