"""A result as files: read again it says the same; what is broken is named."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

import propagate
from propagate.engine.record import as_plain
from propagate.io.record_json import read_record


@pytest.fixture(scope="module")
def folder(results: dict[str, propagate.Result], tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("a") / "result"
    propagate.save(results["slant_trouser"], path)
    return path


def text_of(folder: Path) -> str:
    return (folder / "record.json").read_text(encoding="utf-8")


def test_read_again_it_says_the_same(results: dict[str, propagate.Result], folder: Path) -> None:
    result, again = results["slant_trouser"], propagate.load_result(folder)
    assert as_plain(again.record) == as_plain(result.record)
    assert again.sews
    for name in result.pattern.pieces:
        size = result.record.size
        assert again.pattern.sized(name, size).edges == result.pattern.sized(name, size).edges


def test_written_again_the_bytes_are_the_same(folder: Path, tmp_path: Path) -> None:
    again = propagate.load_result(folder)
    propagate.save(again, tmp_path / "again")
    for path in sorted(folder.rglob("*.*")):
        assert (tmp_path / "again" / path.relative_to(folder)).read_bytes() == path.read_bytes()


def test_the_old_outline_lies_in_the_frame_of_the_new(
    results: dict[str, propagate.Result], folder: Path
) -> None:
    """Old and new area differ by what was added and trimmed, measured by shapely."""
    result = propagate.load_result(folder)
    for change in result.record.pieces:
        old = shapely.Polygon(np.vstack([np.asarray(p)[:-1] for p in change.before.values()]))
        new = shapely.Polygon(result.pattern.sized(change.piece, result.record.size).outline)
        assert abs(new.difference(old).area - change.added_mm2) < 0.5
        assert abs(old.difference(new).area - change.trimmed_mm2) < 0.5


def test_cut_lines_are_simple_and_go_round_the_piece(folder: Path) -> None:
    result = propagate.load_result(folder)
    found = json.loads((folder / "cut_lines.json").read_text(encoding="utf-8"))
    assert list(found["pieces"]) == list(result.pattern.pieces)
    for name, points in found["pieces"].items():
        ring = shapely.LinearRing(points)
        assert ring.is_simple
        assert ring.is_ccw
        piece = shapely.Polygon(result.pattern.sized(name, found["size"]).outline)
        assert shapely.Polygon(points).buffer(1e-3).contains(piece)


def broken(folder: Path, **changes: Any) -> str:
    value = json.loads(text_of(folder))
    value.update(changes)
    return json.dumps({key: item for key, item in value.items() if item is not ...})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"format": 2}, "format 2 is newer than this program reads (1)"),
        ({"format": "1"}, "expected the whole number 1"),
        ({"format": ...}, "'format' is missing"),
        ({"size": 42}, "found 42 (number), expected text"),
        ({"pieces": 5}, "pieces: found 5 (number), expected a list"),
        ({"pieces": [{"piece": "front"}]}, "piece"),
        ({"changes": [{"id": "a", "what": "b", "cause": 3}]}, "cause: found 3 (number)"),
        ({"warnings": ["text"]}, "expected a table"),
    ],
)
def test_a_broken_record_is_named(folder: Path, changes: dict[str, Any], said: str) -> None:
    with pytest.raises(propagate.FormatError) as caught:
        read_record(broken(folder, **changes), "record.json")
    assert said in str(caught.value)
    assert "record.json" in str(caught.value)


def test_bad_points_are_named(folder: Path) -> None:
    value = json.loads(text_of(folder))
    value["pieces"][0]["before"]["side"] = [[0.0, float("nan")], [1.0, 2.0]]
    value["pieces"][1]["before"]["waist"] = [[0.0, 1.0, 2.0]]
    value["pieces"][1]["status"] = "new"
    with pytest.raises(propagate.FormatError) as caught:
        read_record(json.dumps(value), "record.json")
    assert "3 problems" in str(caught.value)


def test_broken_json_has_its_line(folder: Path) -> None:
    with pytest.raises(propagate.FormatError, match="line 3, column"):
        read_record('{\n"format": 1,\n"edit" {}}', "record.json")


def test_keys_of_a_later_version_are_passed_over(folder: Path) -> None:
    record = read_record(broken(folder, shrinkage={"warp": 0.02}), "record.json")
    assert record.size == "42/46"


def test_a_newer_record_stops_why_and_draw(folder: Path, tmp_path: Path) -> None:
    import shutil

    from tests.cli.conftest import run

    shutil.copytree(folder, tmp_path / "newer")
    (tmp_path / "newer" / "record.json").write_text(broken(folder, format=7), encoding="utf-8")
    for words in (["why", "front"], ["draw", "-o", str(tmp_path / "pictures")]):
        done = run(words[0], str(tmp_path / "newer"), *words[1:])
        assert done.exit_code == 2
        assert "format 7 is newer" in done.stderr
    assert not (tmp_path / "pictures").exists()
