"""The corpus tells equal from unequal, and its changes of a piece leave the outline closed."""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from propagate.cli.app import COMMANDS
from tests.corpus import write as writing
from tests.corpus.changes import CHANGES, send
from tests.corpus.compare import compare
from tests.corpus.job import Job
from tests.corpus.jobs import SETS, all_jobs

SKIRT = Path(SETS) / "scoop_skirt" / "geometry"


def few_jobs() -> Iterator[Job]:
    """Something said, something written for a later job, something refused."""
    yield Job("show", ("show", "scoop_skirt"), True)
    yield Job("json", ("convert", "scoop_skirt", "out", "--to", "json"), True, keep="forms/skirt")
    front = "forms/skirt/skirt_front.json"
    yield Job("revise", ("revise", "scoop_skirt", "--from", front, "-o", "out"))
    yield Job("refused", ("blend", "scoop_skirt", "-o", "no/out"), True)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A corpus of few jobs, written once; tests write others beside it."""
    folder = tmp_path_factory.mktemp("corpus")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(writing, "all_jobs", few_jobs)
        assert writing.write(folder / "a") == 4
        yield folder


def test_twice_the_same_and_any_byte_tells(
    written: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    writing.write(written / "b")
    assert compare(written / "a", written / "b") == 0
    assert "files in both: all equal" in capsys.readouterr().out
    for file in sorted((written / "b").rglob("*")):
        if file.is_file():
            sound = file.read_bytes()
            file.write_bytes(sound[:-1] + bytes([sound[-1] ^ 1]))
            assert compare(written / "a", written / "b") == 1
            told = capsys.readouterr().out
            assert f"differ: {file.relative_to(written / 'b')}" in told
            assert "\n-" in told.partition("\n+++ ")[2]
            file.write_bytes(sound)
    (written / "b" / "more").write_text("x", encoding="utf-8")
    assert compare(written / "a", written / "b") == 1
    assert "b: more" in capsys.readouterr().out


def test_what_is_kept_of_a_job(written: Path) -> None:
    said = {job.name: (written / "a" / job.name / "said.txt").read_text() for job in few_jobs()}
    assert all(text.startswith("$ propagate ") for text in said.values())
    assert "(exit status 2)" in said["refused"] and "(exit status 0)" in said["show"]
    assert "as in the set: scoop_skirt/geometry/belt.json" in said["revise"]
    assert not (written / "a" / "revise" / "out" / "geometry" / "belt.json").exists()
    assert (written / "a" / "json" / "out" / "belt.json").is_file()
    assert writing.write(written / "quick", quick=True) == 3
    assert writing.write(written / "only", only="show") == 2  # and what others may need


def test_nothing_compared_is_no_success(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    assert compare(tmp_path / "a", tmp_path / "b") == 1


def test_a_difference_inside_a_packed_pdf_is_shown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name, word in (("a", b"waist"), ("b", b"hip")):
        (tmp_path / name).mkdir()
        packed = zlib.compress(b"seam\n" + word)
        text = b"%PDF-1.7\nstream\n" + packed + b"\nendstream\n"
        (tmp_path / name / "x.pdf").write_bytes(text)
    assert compare(tmp_path / "a", tmp_path / "b") == 1
    assert "-waist\n+hip" in capsys.readouterr().out


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("piece", ["skirt_front", "skirt_back", "belt"])
def test_a_change_keeps_the_outline_closed(piece: str, change: str, tmp_path: Path) -> None:
    source = SKIRT / f"{piece}.json"
    old = json.loads(source.read_text())["sizes"]["M"]["edges"]
    for number in range(len(old)):
        send(str(source), str(tmp_path / "sent.json"), number, change, ["M"])
        new = json.loads((tmp_path / "sent.json").read_text())["sizes"]
        assert list(new) == ["M"]
        edges = new["M"]["edges"]
        assert edges[number] != old[number]
        ends = [_ends(edge) for edge in edges]
        assert all(ends[i - 1][1] == ends[i][0] for i in range(len(ends)))


def _ends(edge: dict[str, object]) -> tuple[list[float], list[float]]:
    points = edge.get("points")
    if isinstance(points, list):
        return points[0], points[-1]
    numbers = [float(word) for word in str(edge["path"]).split() if word not in "MC"]
    return numbers[:2], numbers[-2:]


def test_every_command_and_every_demo_set_has_jobs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The jobs that come from what others kept are not asked for here."""
    from tests.corpus import jobs

    monkeypatch.setattr(jobs, "_revise_jobs", lambda: iter(()))
    monkeypatch.setattr(jobs, "_revised_file_jobs", lambda: iter(()))
    monkeypatch.setattr(jobs, "_edge_names", lambda *_: ["edge"])
    monkeypatch.chdir(SETS)
    monkeypatch.setattr(jobs, "sizes_of", _sizes_or_letters)
    found = list(all_jobs())
    names = [job.name for job in found]
    assert len(names) == len(set(names))
    assert {job.words[0] for job in found} >= {*COMMANDS} - {"revise"}
    text = " ".join(word for job in found for word in job.words)
    assert all(path.parent.name in text for path in Path(SETS).glob("*/draft.py"))


def _sizes_or_letters(name: str) -> tuple[tuple[str, ...], str]:
    import tomllib

    if name == "apron":
        return ("S", "M", "L"), "M"
    found = tomllib.loads(Path(name, "set.toml").read_text())
    return tuple(str(size) for size in found["sizes"]), str(found["base"])
