"""Try a job: load, begin, convert, walk, show, blend, revise, and every command."""

from __future__ import annotations

import contextlib
import io
import json
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import click

import propagate
from propagate.cli.app import cli
from propagate.engine.edits.level_blend import BlendLevels
from propagate.engine.revise import revise
from propagate.errors import InvalidSet, PropagateError
from propagate.io.begin import read_style
from propagate.io.convert import write_style
from propagate.io.geometry_json import load_piece
from propagate.io.options import ReadOptions
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import find_problems
from propagate.report.set_plain import set_plain
from propagate.report.set_text import set_lines
from tests.fuzz import bases
from tests.fuzz.jobs import Job
from tests.fuzz.judge import Unsound, judge_result, judge_set, strict_json
from tests.fuzz.text import change_files
from tests.fuzz.tree import change_tree

__all__ = ["try_job"]

_SUFFIX = {"svg": "out.svg", "dxf": "out.dxf", "dxf-rules": "out.dxf"}


def try_job(job: Job, folder: Path) -> str:
    """Try a job in an empty folder; returns "done" or "refused".

    Raises
    ------
    Exception
        Whatever the project raises that is not one of its own errors, and `Unsound`.
    """
    work = {"set": _set, "edit": _set, "drawing": _drawing, "command": _command}[job.kind]
    try:
        work(job, folder)
    except PropagateError as error:
        _judge_message(error)
        return "refused"
    except click.ClickException as error:
        _judge_message(error)
        return "refused"
    return "done"


def _judge_message(error: PropagateError | click.ClickException) -> None:
    """A message is printable text of some length."""
    text = error.format_message() if isinstance(error, click.ClickException) else str(error)
    if not text.strip():
        raise Unsound(f"{type(error).__name__} without a word") from error


# --------------------------------------------------------------------------------- sets


def _set(job: Job, folder: Path) -> None:
    document = bases.document(job.base)
    raw = [change for change in job.changes if change[0] == "raw"]
    for change in job.changes:
        if change[0] == "sent":  # a piece is sent back, as it was
            document["sent"][change[1]] = json.loads(json.dumps(document["geometry"][change[1]]))
    change_tree(document, [c for c in job.changes if c[0] not in ("raw", "sent")])
    home = folder / "set"
    files = {"set.toml": bases.toml_text(document["set"])}
    for name, piece in document["geometry"].items():
        files[f"geometry/{name}.json"] = json.dumps(piece)
    plain = {name: text.encode("utf-8", "surrogatepass") for name, text in files.items()}
    latin = change_files(
        {name: data.decode("latin-1") for name, data in plain.items()}, [c[1:] for c in raw]
    )
    (home / "geometry").mkdir(parents=True)
    for name, text in latin.items():
        if "\0" not in name and len(name) < 200:
            _write(home / name, text)
    pattern = propagate.load(home)
    judge_set(pattern, folder / "saved")
    "\n".join(set_lines(pattern)).encode("utf-8")
    strict_json(set_plain(pattern))
    _steps(job, pattern, document, folder)


def _write(path: Path, text: str) -> None:
    """Write a file, unless no file can have that name."""
    with contextlib.suppress(OSError, ValueError):
        path.write_bytes(text.encode("latin-1"))


def _steps(job: Job, pattern: PatternSet, document: Any, folder: Path) -> None:
    for number, (name, value) in enumerate(job.steps):
        place = folder / f"step_{number}"
        place.mkdir()
        with contextlib.suppress(PropagateError, click.ClickException):
            if name == "blend":
                result = propagate.run(pattern, _blend(pattern, value))
                judge_result(result, place)
                if strict_json(propagate.run(pattern, _blend(pattern, value)).record) != (
                    strict_json(result.record)
                ):
                    raise Unsound("the second blend differs from the first")
            elif name == "revise":
                _revise(pattern, document["sent"], value, place)
            elif name == "convert":
                _convert(pattern, value, place)
            else:
                _run([str(word).replace("{tmp}", str(folder)) for word in value])


def _blend(pattern: PatternSet, options: dict[str, Any]) -> propagate.Blend | BlendLevels:
    """By the plan of a set, or by level alone."""
    if pattern.relations.blend is not None:
        return propagate.Blend(**options)
    return BlendLevels(**{key: options[key] for key in ("sizes", "follow") if key in options})


def _revise(pattern: PatternSet, sent: Any, options: dict[str, Any], place: Path) -> None:
    pieces = {name: load_piece(json.dumps(piece), f"{name}.json") for name, piece in sent.items()}
    found = revise(pattern, pieces, **options)
    strict_json(found.records)
    strict_json(found.edges)
    judge_set(found.pattern, place / "saved")


def _convert(pattern: PatternSet, form: str, place: Path) -> None:
    target = place / _SUFFIX.get(form, "out")
    write_style(pattern, target, form)
    read, _ = read_style([target], ReadOptions())
    if set(read.sizes) != set(pattern.sizes):
        raise Unsound(f"written as {form} and read again, the sizes are others")


# ----------------------------------------------------------------------------- drawings


def _drawing(job: Job, folder: Path) -> None:
    files = change_files(job.files or bases.drawing(job.base), job.changes)
    home = folder / "drawn"
    home.mkdir()
    for name, text in files.items():
        (home / name).write_bytes(text.encode("latin-1"))
    wishes = ReadOptions()
    for name, value in job.steps:
        if name == "wishes":
            wishes = replace(wishes, **value)
    pattern, report = read_style([home], wishes)
    strict_json(report.plain())
    found = find_problems(pattern)
    if found:
        raise InvalidSet(pattern.name, found)
    judge_set(replace(pattern, origin=None), folder / "saved")
    for number, (name, value) in enumerate(job.steps):
        if name == "convert":
            place = folder / f"step_{number}"
            place.mkdir()
            _convert(pattern, value, place)


# ----------------------------------------------------------------------------- commands


@cache
def _commands_home() -> Path:
    home = Path(mkdtemp(prefix="fuzz_commands_"))
    bases.fill_commands_folder(home)
    return home


def _command(job: Job, folder: Path) -> None:
    shutil.copytree(_commands_home(), folder, dirs_exist_ok=True)
    words = change_words(job)
    _run([word.replace("{tmp}", str(folder)) for word in words])


def change_words(job: Job) -> list[str]:
    """The words of a command: those of the base, and options, each of which may be left out."""
    return [*job.steps[0][1], *(word for change in job.changes for word in change)]


def _run(words: list[str]) -> None:
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(io.StringIO()):
        try:
            cli.main(words, prog_name="propagate", standalone_mode=False)
        except SystemExit as error:
            raise Unsound(f"left with {error.code} instead of an error") from error
    text = said.getvalue()
    if "--json" in words and "--help" not in words:
        try:
            json.loads(text, parse_constant=_no_constant)
        except ValueError as error:
            raise Unsound("what --json printed is not JSON") from error


def _no_constant(word: str) -> None:
    raise ValueError(word)
