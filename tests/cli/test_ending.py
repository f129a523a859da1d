"""How a command ends: exit status, one clear message, no traceback, nothing half written."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any, NoReturn

import pytest

from propagate.cli.app import COMMANDS, cli
from propagate.errors import Conflict
from tests.cli.conftest import SKIRT, TROUSER, plain, run

BLEND = ["blend", TROUSER, "--size", "waist=42", "--size", "hip=44"]


def test_help_of_every_command() -> None:
    top = run("--help")
    assert top.exit_code == 0
    for name, (_, text) in COMMANDS.items():
        assert name in top.stdout
        assert text in top.stdout
        own = run(name, "--help")
        assert own.exit_code == 0
        assert "--json" in own.stdout
        assert all(len(line) <= 80 for line in own.stdout.splitlines())


def test_help_imports_nothing_heavy() -> None:
    """A fresh process: the help needs click and nothing that measures."""
    code = (
        "import sys\n"
        "from propagate.cli.app import cli\n"
        "cli.main(['--help'], standalone_mode=False)\n"
        "heavy = {'numpy', 'shapely', 'networkx', 'ezdxf'} & set(sys.modules)\n"
        "ours = sorted(n for n in sys.modules if n.startswith('propagate.engine'))\n"
        "sys.exit(f'{heavy} {ours}' if heavy or ours else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_importing_the_package_imports_nothing() -> None:
    code = (
        "import sys; before = set(sys.modules); import propagate; "
        "new = {n for n in set(sys.modules) - before if n.split('.')[0] != 'propagate'}; "
        "assert not new & {'numpy', 'click', 'typing'}, new; "
        "assert 'load' in dir(propagate); "
        "assert propagate.load.__module__ == 'propagate.io.folder'"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_every_public_name_is_there() -> None:
    import propagate

    for name in propagate.__all__:
        assert getattr(propagate, name).__name__ == name
    with pytest.raises(AttributeError, match="no attribute 'sow'"):
        propagate.sow  # noqa: B018


def test_module_runs_as_a_program() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "propagate", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("propagate ")


def test_unknown_command_names_the_nearest() -> None:
    done = run("blnd")
    assert done.exit_code == 2
    assert "did you mean 'blend'?" in done.stderr


def test_conflict_writes_nothing_and_ends_with_3(conflicting: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ["blend", str(conflicting), "--size", "waist=42,hip=44", "-o", str(out)]
    done = run(*words)
    assert done.exit_code == 3
    assert done.stderr.startswith("propagate: conflict: set 'slant trouser'")
    assert "'zip'" in done.stderr
    assert "mm lie between them" in done.stderr
    assert "nothing was written" in done.stderr
    assert not out.exists()
    found = plain(run(*words, "--json"))
    assert found["status"] == "conflict"
    assert found["exit_status"] == 3
    assert len(found["causes"]) == 2
    assert found["distance_mm"] > 100  # a waist against a belt loop


def test_conflict_is_told_with_both_causes(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: Any, **__: Any) -> NoReturn:
        raise Conflict("a and b part", causes=["a asks 1", "b asks 2"], distance_mm=1.0)

    monkeypatch.setattr("propagate.engine.run.run", refuse)
    done = run(*BLEND)
    assert done.exit_code == 3
    assert done.stderr.splitlines() == [
        "propagate: conflict: a and b part",
        "  - a asks 1",
        "  - b asks 2",
        "  nothing was written",
    ]


def test_an_existing_target_stays_as_it_is(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "mine.txt").write_text("mine", encoding="utf-8")
    done = run(*BLEND, "-o", str(out))
    assert done.exit_code == 2
    assert "exists already and was left as it is" in done.stderr
    forced = run(*BLEND, "-o", str(out), "--replace")
    assert forced.exit_code == 2
    assert "so it is not replaced" in forced.stderr
    assert [path.name for path in out.iterdir()] == ["mine.txt"]


def test_a_target_without_a_parent(tmp_path: Path) -> None:
    done = run(*BLEND, "-o", str(tmp_path / "no" / "out"))
    assert done.exit_code == 2
    assert "is not a folder; make it first" in done.stderr
    done = run("draw", SKIRT, "-o", str(tmp_path / "no" / "out"))
    assert done.exit_code == 2
    assert "is not a folder; make it first" in done.stderr


@pytest.mark.parametrize(
    "words", [BLEND, ["draw", SKIRT, "--piece", "belt"]], ids=["blend", "draw"]
)
def test_an_unwritable_target(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk refuses: said in one line, nothing left behind (also when run as root)."""

    def refuse(*_: Any, **__: Any) -> NoReturn:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", refuse)
    done = run(*words, "-o", str(tmp_path / "out"))
    monkeypatch.undo()
    assert done.exit_code == 2
    assert "cannot be written (Permission denied)" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_interrupt_while_drawing_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls = []

    def interrupted(handle: int) -> None:
        calls.append(handle)
        if len(calls) > 2:
            raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    done = run("draw", SKIRT, "-o", str(tmp_path / "out"))
    assert done.exit_code == 130
    assert "interrupted" in done.stderr
    assert "Traceback" not in done.output
    assert list(tmp_path.iterdir()) == []


def test_interrupt_while_writing_a_result_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(_: int) -> NoReturn:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    done = run(*BLEND, "-o", str(tmp_path / "out"))
    assert done.exit_code == 130
    assert list(tmp_path.iterdir()) == []


def test_a_broken_pipe_is_quiet() -> None:
    """The reader goes away at once, as `| head -0` does."""
    code = (
        "import os, sys\n"
        "read, write = os.pipe(); os.close(read); os.dup2(write, 1)\n"
        "from propagate.cli import main\n"
        f"sys.argv = ['propagate', 'show', {TROUSER!r}]\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], stderr=subprocess.PIPE, text=True, check=False
    )
    assert done.stderr == ""
    assert done.returncode == 141


def test_a_fault_of_the_program_is_said_without_a_traceback(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fault(*_: Any, **__: Any) -> NoReturn:
        raise ZeroDivisionError("division by zero")

    monkeypatch.delenv("PROPAGATE_TRACEBACK", raising=False)
    monkeypatch.setattr("propagate.engine.run.run", fault)
    done = run(*BLEND)
    assert done.exit_code == 70
    assert "fault of the program (ZeroDivisionError: division by zero)" in done.stderr
    assert "Traceback" not in done.output
    monkeypatch.setenv("PROPAGATE_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        run(*BLEND, catch_exceptions=False)


def test_something_that_does_not_sew_is_written_and_ends_with_1(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import propagate.engine.run as engine

    true_run = engine.run

    def spoilt(*args: Any, **options: Any) -> engine.Result:
        from dataclasses import replace

        result = true_run(*args, **options)
        row = replace(result.record.seams[0], difference=4.0, verdict="does not sew")
        record = replace(result.record, seams=(row, *result.record.seams[1:]))
        return engine.Result(result.pattern, record)

    monkeypatch.setattr(engine, "run", spoilt)
    out = tmp_path / "out"
    done = run(*BLEND, "-o", str(out))
    assert done.exit_code == 1
    assert (out / "record.json").is_file()
    assert "DOES NOT SEW: off by +4.00 mm" in done.stdout
    assert done.stdout.index("DOES NOT SEW") < done.stdout.index("What changed")


def test_the_group_can_be_called_as_a_function() -> None:
    assert cli.main(["show", TROUSER, "--json"], standalone_mode=False) == 0


def test_a_result_never_takes_the_place_of_its_set(tmp_path: Path) -> None:
    shutil.copytree(TROUSER, tmp_path / "mine")
    before = (tmp_path / "mine" / "set.toml").read_bytes()
    for path in (tmp_path / "mine", tmp_path / "mine" / "set.toml"):
        words = ["blend", str(path), *BLEND[2:], "-o", str(tmp_path / "mine"), "--replace"]
        done = run(*words)
        assert done.exit_code == 2
        assert "is what this command reads" in done.stderr
    assert (tmp_path / "mine" / "set.toml").read_bytes() == before


def test_an_output_without_room_is_no_fault_of_the_program() -> None:
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("there is no /dev/full here")
    with full.open("w", encoding="utf-8") as nowhere:
        done = subprocess.run(
            [sys.executable, "-m", "propagate", "show", TROUSER],
            stdout=nowhere,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.startswith("propagate: the output cannot be written (")
    assert done.stderr.count("\n") == 1


def test_an_interrupt_while_loading_leaves_no_traceback() -> None:
    code = (
        "import sys\n"
        "class Stop:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name == 'propagate.cli.app': raise KeyboardInterrupt\n"
        "sys.meta_path.insert(0, Stop())\n"
        "from propagate.cli import main\n"
        "main()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 130
    assert done.stderr == "\npropagate: interrupted\n"
