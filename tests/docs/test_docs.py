"""The commands and programs of the documentation run, page by page, as they stand there.

A ``console`` block holds commands after ``$ `` and, below each, lines of its output.  A line
``...`` stands for anything, ``(exit status N)`` for how the command ends.  A ``python``
block that imports the library is run as well.  A ``toml`` or ``json`` block is written to a
file when the line before it names one: `NAME`: anew, At the end of `NAME`: at its end.
"""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from click.testing import CliRunner

from propagate.cli.app import COMMANDS, cli

ROOT = Path(__file__).resolve().parent.parent.parent
PAGES = sorted([*(ROOT / "docs").glob("*.md"), ROOT / "README.md"])
_BLOCK = re.compile(
    r"(?:^(?P<end>At the end of )?`(?P<file>[^`\n]+)`:\n\n)?"
    r"^```(?P<kind>console|python|toml|json)\n(?P<text>.*?)^```$",
    re.DOTALL | re.MULTILINE,
)
NOT_RUN = ("pip", "git", "cd", "mkdir", "python", "python3", "uv", "pipx", ".ci/run")
"""First words of commands that set up a machine, or need the whole repository."""


@dataclass
class Command:
    line: str
    status: int = 0
    output: list[str] = field(default_factory=list)


def commands_of(text: str) -> list[Command]:
    found: list[Command] = []
    joined = text.replace("\\\n", " ")
    for line in joined.splitlines():
        ending = re.fullmatch(r"\(exit status (\d+)\)", line)
        if line.startswith("$ "):
            found.append(Command(line[2:]))
        elif ending:
            found[-1].status = int(ending[1])
        elif line.strip() and line.strip() != "...":
            found[-1].output.append(line)
    return found


def run_command(command: Command) -> None:
    words = shlex.split(command.line.partition(" #")[0])
    if words[:3] == ["python", "-m", "propagate"]:
        words = ["propagate", *words[3:]]
    if words[0] != "propagate":
        assert words[0] in NOT_RUN, f"unknown command in the documentation: {command.line}"
        return
    result = CliRunner().invoke(cli, words[1:], prog_name="propagate")
    assert result.exit_code == command.status, f"$ {command.line}\n{result.output}"
    for line in command.output:
        said = ".*".join(re.escape(part) for part in line.split("..."))
        assert re.search(said, result.output), f"$ {command.line}\nwithout: {line}\n{result.output}"


def write_file(block: re.Match[str]) -> None:
    file = Path(block["file"])
    assert not file.is_absolute() and ".." not in file.parts
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("a" if block["end"] else "w", encoding="utf-8", newline="\n") as open_file:
        open_file.write(block["text"])


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_page_runs(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    blocks = list(_BLOCK.finditer(page.read_text(encoding="utf-8")))
    for block in blocks:
        if block["kind"] == "console":
            for command in commands_of(block["text"]):
                run_command(command)
        elif block["file"]:
            write_file(block)
        elif block["kind"] == "python" and "import propagate" in block["text"]:
            exec(compile(block["text"], str(page), "exec"), {})
    assert page.name != "commands.md" or len(blocks) > 8


def test_every_command_and_option_is_documented() -> None:
    page = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    context = cli.make_context("propagate", ["show", "x"], resilient_parsing=True)
    for name in COMMANDS:
        assert f"## `propagate {name}`" in page
        command = cli.get_command(context, name)
        assert command is not None
        for parameter in command.params:
            if parameter.param_type_name == "option":
                assert any(f"`{option}" in page for option in parameter.opts), parameter.opts


def test_commands_run_in_the_order_of_their_sections() -> None:
    found = commands_of("$ propagate a \\\n  b\nout\n...\n(exit status 2)\n$ propagate c\n")
    assert [(c.line, c.status, c.output) for c in found] == [
        ("propagate a    b", 2, ["out"]),
        ("propagate c", 0, []),
    ]
