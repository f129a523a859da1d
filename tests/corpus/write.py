"""Do the jobs and keep what they said and wrote."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

from click.testing import CliRunner

from propagate.cli.app import cli
from tests.corpus.job import Job
from tests.corpus.jobs import SETS, all_jobs

__all__ = ["write"]


def write(folder: Path, *, quick: bool = False, only: str = "") -> int:
    """Write the corpus into `folder`; return the number of jobs."""
    folder = folder.resolve()
    folder.mkdir(parents=True, exist_ok=True)
    before, count = Path.cwd(), 0
    os.environ["COLUMNS"] = "80"
    with tempfile.TemporaryDirectory(prefix="workshop") as name:
        shutil.copytree(SETS, Path(name), dirs_exist_ok=True)
        try:
            os.chdir(name)
            for job in all_jobs():
                if (job.quick or not quick) and (job.keep or only in job.name):
                    _do(job, folder / job.name)
                    count += 1
        finally:
            os.chdir(before)
        _check_no_path(folder, name)
    return count


def _do(job: Job, target: Path) -> None:
    """Do one job and take what it wrote away."""
    if job.ready is not None:
        job.ready()
    done = CliRunner().invoke(cli, list(job.words), prog_name="propagate")
    target.mkdir(parents=True)
    lines = [
        f"$ propagate {' '.join(job.words)}",
        f"(exit status {done.exit_code})",
        *_fault(done.exception),
        "--- output",
        done.stdout,
        "--- errors",
        done.stderr,
        *_take(job, target),
    ]
    said = "\n".join(lines).replace(str(Path.cwd()), "WORKSHOP")
    (target / "said.txt").write_text(said, encoding="utf-8")


def _fault(error: BaseException | None) -> list[str]:
    """What flew out of the program, which nothing should."""
    return [] if error is None or isinstance(error, SystemExit) else [f"(flew out: {error!r})"]


def _take(job: Job, target: Path) -> list[str]:
    """Move what was written to the corpus; tell which files are those of the set."""
    written = sorted(Path().glob("out*"))
    if job.keep:
        for path in written:
            kept = Path(job.keep).with_suffix(path.suffix)
            kept.parent.mkdir(parents=True, exist_ok=True)
            (shutil.copytree if path.is_dir() else shutil.copyfile)(path, kept)
    for path in written:
        shutil.move(path, target / path.name)
    source = Path(job.words[1]) if len(job.words) > 1 else Path()
    alike = []
    for path in sorted((target / "out").rglob("*")):
        original = source / path.relative_to(target / "out")
        if path.is_file() and original.is_file() and path.read_bytes() == original.read_bytes():
            alike.append(f"as in the set: {original}")
            path.unlink()
    return alike


def _check_no_path(folder: Path, workshop: str) -> None:
    """The name of the workshop, which differs each time, may be in no output."""
    for path in folder.rglob("*"):
        if path.is_file() and workshop.encode() in path.read_bytes():
            raise SystemExit(f"{path} holds the path of the workshop")
