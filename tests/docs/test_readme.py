"""The README says the job, gives two commands that work, and a dozen lines of Python."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from propagate.cli.app import COMMANDS

ROOT = Path(__file__).resolve().parent.parent.parent
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(kind: str, text: str = TEXT) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)


def test_it_opens_with_one_paragraph_and_two_commands() -> None:
    opening = TEXT.partition("\n## ")[0]
    title, job, *rest = [part for part in opening.split("\n\n") if part.strip()]
    assert title.startswith("# ")
    assert len(job.split()) > 50 and not job.startswith(("#", "-", "|", "`", "!"))
    commands = blocks("sh", opening)
    assert len(commands) == 2 and all(len(block.splitlines()) == 1 for block in commands)
    assert len(rest) == 4  # a line before each command, and the commands


def test_the_test_command_is_found_by_the_script_that_runs_it() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    search = re.search(r"^test_command=\$\((.*)\)$", script, re.MULTILINE)
    assert search is not None
    found = subprocess.run(
        ["bash", "-c", search[1]], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert found.stdout == blocks("sh")[1]
    assert found.stdout.strip().endswith(".venv/bin/pytest -n auto")


def test_every_command_is_in_its_table() -> None:
    table = set(re.findall(r"^\| `propagate (\w+)", TEXT, re.MULTILINE))
    assert table == set(COMMANDS)


def test_the_program_runs_and_says_what_it_should(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (program,) = blocks("python")
    assert len(program.splitlines()) <= 14
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    exec(compile(program, "README.md", "exec"), names)
    said = capsys.readouterr().out
    assert said.startswith("True ")
    assert re.search(r"^under_bag reshaped \[.*'side'", said, re.MULTILINE)
    assert re.search(r"^seam side_seam [+-]0\.00 sews$", said, re.MULTILINE)
    assert (tmp_path / "curvy_from_python" / "record.json").is_file()
    assert str(names["picture"]).startswith("<svg")


def test_it_says_what_the_tool_does_not_do() -> None:
    limits = TEXT.partition("## What it does not do")[2].partition("\n## ")[0]
    for words in (
        "does not judge fit",
        "trial garment",
        "Children's wear",
        "medical",
        "Blades cut",
    ):
        assert words in " ".join(limits.split())
