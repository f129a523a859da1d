"""The commands and programs of the documentation run, page by page, as they stand there.

A ``console`` block holds commands after ``$ `` and, below each, lines of its output.  A line
``...`` stands for anything, ``(exit status N)`` for how the command ends.  A ``python``
block that imports the library is run as well.  A ``toml`` or ``json`` block is written to a
file when the line before it names one: `NAME`: anew, At the end of `NAME`: at its end.

A line ``> WORD`` below a command is typed while it runs, and a pattern that a page links to in
``patterns/`` lies in the folder where it runs.

A command that many pages begin with runs on one of them, and its files are copied on the others;
with the profile ``long`` it runs on each.
"""

from __future__ import annotations

import hashlib
import re
import shlex
import shutil
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from click.testing import CliRunner

from propagate.cli.app import COMMANDS, cli
from tests.examples import goes_on
from tests.shared import loads_kept

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
    typed: list[str] = field(default_factory=list)


def commands_of(text: str) -> list[Command]:
    found: list[Command] = []
    joined = text.replace("\\\n", " ")
    for line in joined.splitlines():
        ending = re.fullmatch(r"\(exit status (\d+)\)", line)
        if line.startswith("$ "):
            found.append(Command(line[2:]))
        elif ending:
            found[-1].status = int(ending[1])
        elif line.startswith("> "):
            found[-1].typed.append(line[2:])
        elif line.strip() and line.strip() != "...":
            found[-1].output.append(line)
    return found


@dataclass(frozen=True)
class Done:
    """What a command said, how it ended, and the files that it wrote; none if it changed some."""

    status: int
    said: str
    wrote: dict[Path, bytes] | None

    def may_be_copied(self) -> bool:
        """Whether all that it wrote is new to this folder too; on what it reads see `_named`."""
        return self.wrote is not None and not any(file.exists() for file in self.wrote)


_DONE: dict[tuple[object, ...], Done] = {}


def run_once(words: list[str], typed: str = "") -> Done:
    """Run a command, or copy what it wrote where it was run on the same files on another page."""
    key = (*words, typed, _named(words))
    kept = _DONE.get(key)
    if kept is not None and kept.may_be_copied() and not goes_on():
        for file, data in (kept.wrote or {}).items():
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(data)
        return kept
    before = _stamps()
    with loads_kept():
        result = CliRunner().invoke(cli, words, prog_name="propagate", input=typed)
    after = _stamps()
    added = {file: file.read_bytes() for file in after if file not in before}
    only_added = all(after.get(file) == stamp for file, stamp in before.items())
    _DONE[key] = Done(result.exit_code, result.output, added if only_added else None)
    return _DONE[key]


def _named(words: list[str]) -> str:
    """A digest of all files that a command line names, and of those that `demo` finds."""
    named = {part for word in words for part in re.split("[=,]", word) if part}
    digest = hashlib.sha256()
    for name in sorted(named | ({"propagate_demo"} if words[:1] == ["demo"] else set())):
        path = Path(name)
        for file in sorted(path.rglob("*")) if path.is_dir() else [path]:
            digest.update(f"{file}\0".encode())
            digest.update(file.read_bytes() if file.is_file() else bytes([file.is_dir()]))
    return digest.hexdigest()


def _stamps() -> dict[Path, tuple[int, int, int]]:
    """Every file below this folder, and what changes with it."""
    files = [file for file in Path().rglob("*") if file.is_file()]
    stats = {file: file.stat() for file in files}
    return {file: (at.st_mtime_ns, at.st_size, at.st_ino) for file, at in stats.items()}


def run_command(command: Command) -> None:
    words = shlex.split(command.line.partition(" #")[0])
    if words[:3] == ["python", "-m", "propagate"]:
        words = ["propagate", *words[3:]]
    if words[0] != "propagate":
        assert words[0] in NOT_RUN, f"unknown command in the documentation: {command.line}"
        return
    done = run_once(words[1:], "".join(f"{word}\n" for word in command.typed))
    assert done.status == command.status, f"$ {command.line}\n{done.said}"
    for line in command.output:
        said = ".*".join(re.escape(part) for part in line.split("..."))
        assert re.search(said, done.said), f"$ {command.line}\nwithout: {line}\n{done.said}"


def write_file(block: re.Match[str]) -> None:
    file = Path(block["file"])
    assert not file.is_absolute() and ".." not in file.parts
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("a" if block["end"] else "w", encoding="utf-8", newline="\n") as open_file:
        open_file.write(block["text"])


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_page_runs(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    text = page.read_text(encoding="utf-8")
    for name in re.findall(r"\]\((patterns/[^)]+)\)", text):
        shutil.copy(page.parent / name, tmp_path)
    blocks = list(_BLOCK.finditer(text))
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
    found = commands_of("$ propagate a \\\n  b\nout\n> y\n...\n(exit status 2)\n$ propagate c\n")
    assert [(c.line, c.status, c.output, c.typed) for c in found] == [
        ("propagate a    b", 2, ["out"], ["y"]),
        ("propagate c", 0, [], []),
    ]
