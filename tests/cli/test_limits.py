"""What a stranger's file or a long name does to a command: one clear message, status 2."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, NoReturn

import pytest

from propagate.io.folder import load
from propagate.report.scene import labels
from tests.builders import TINY_TOML, write_tiny
from tests.cli.conftest import SKIRT, plain, run
from tests.report.test_crowded import notched

LONG = "x" * 300
GILET = str(Path(SKIRT).parent / "workshop_gilet" / "workshop_gilet.dxf")


@pytest.mark.parametrize(
    "words",
    [
        ["show", LONG],
        ["draw", SKIRT, "-o", LONG],
        ["report", SKIRT, "-o", f"{LONG}.html"],
        ["print", SKIRT, "-o", f"{LONG}.pdf"],
        ["begin", f"{LONG}.dxf", "-o", "out"],
        ["begin", GILET, "-o", LONG],
        ["convert", SKIRT, f"{LONG}.svg"],
        ["convert", SKIRT, f"{LONG}.dxf"],
        ["convert", SKIRT, LONG],
    ],
    ids=lambda words: " ".join(w[-12:] for w in words),
)
def test_a_file_name_that_is_too_long(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(*words, "--json")
    assert done.exit_code == 2, done.output
    assert plain(done)["status"] == "error"
    assert "fault of the program" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_folder_without_read_permission(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    folder = write_tiny(tmp_path / "set")

    def refuse(self: Path, *_: Any) -> NoReturn:
        raise PermissionError(13, "Permission denied", str(self))

    for method in ("is_dir", "iterdir"):
        with monkeypatch.context() as patched:
            patched.setattr(Path, method, refuse)
            for words in (["show", str(folder)], ["begin", str(folder), "-o", "o"]):
                done = run(*words)
                assert done.exit_code == 2, (method, words, done.output)
                assert "Permission denied" in done.stderr


@pytest.mark.parametrize("hold", ["", "  ", "1" * 5000])
def test_a_hold_that_is_none(hold: str) -> None:
    words = ["blend", SKIRT, "--size", "natural_waist=36,seat=40"]
    done = run(*words, "--hold", hold)
    assert done.exit_code == 2
    assert "fault of the program" not in done.stderr


def test_a_name_with_other_ends_of_lines(tmp_path: Path) -> None:
    """U+2028 and U+0085 end a line for Python; in TOML they are letters of a text."""
    out = tmp_path / "out"
    name = "a\u2028b\u0085c"
    assert run("begin", GILET, "-o", str(out), "--name", name).exit_code == 0
    assert load(out).name == name
    for target in ("again", "again.svg", "again.dxf"):
        assert run("convert", str(out), str(tmp_path / target)).exit_code == 0
    assert load(tmp_path / "again").name == name


def test_json_is_in_millimetres(tmp_path: Path) -> None:
    folder = write_tiny(tmp_path / "set") / "geometry"
    refused = run("begin", str(folder), "-o", str(tmp_path / "out"), "--unit", "in")
    assert refused.exit_code == 2
    assert "our JSON is in millimetres" in refused.stderr
    assert run("begin", str(folder), "-o", str(tmp_path / "out"), "--unit", "mm").exit_code == 0


def test_begin_writes_nothing_that_show_refuses(tmp_path: Path) -> None:
    folder = write_tiny(tmp_path / "set") / "geometry"
    for far, status in ((900_000.0, 0), (2_000_000.0, 2)):
        data = json.loads((folder / "front.json").read_text("utf-8"))
        for size in data["sizes"].values():
            for edge in size["edges"]:
                edge["points"] = [[x + far, y] for x, y in edge["points"]]
            for item in (*size["landmarks"], size["label"]):
                item["point"][0] += far
            for point in (*size["grain"], *size["levels"].values()):
                point[0] += far
        (tmp_path / "far").mkdir(exist_ok=True)
        (tmp_path / "far" / "front.json").write_text(json.dumps(data), encoding="utf-8")
        out = str(tmp_path / f"out{status}")
        done = run("begin", str(tmp_path / "far"), "-o", out)
        assert done.exit_code == status
        if status == 0:
            assert run("show", out).exit_code == 0


def test_cut_is_a_number_of_pieces(tmp_path: Path) -> None:
    folder = write_tiny(tmp_path / "set")
    text = TINY_TOML.replace("cut = 1", f"cut = {2**63}")
    (folder / "set.toml").write_text(text, encoding="utf-8")
    done = run("show", str(folder))
    assert done.exit_code == 2
    assert "64 bits" in done.stderr


def test_thousands_of_notches_cost_no_more_than_hundreds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Counted in boxes that are tried and shapes that they are held against."""
    made: list[labels.Labels] = []
    first = labels.Labels.__init__

    def noted(self: labels.Labels, *args: Any) -> None:
        first(self, *args)
        made.append(self)

    monkeypatch.setattr(labels.Labels, "__init__", noted)
    file = tmp_path / "front.svg"
    file.write_text(notched(2500), encoding="utf-8")
    assert run("begin", str(file), "-o", str(tmp_path / "out")).exit_code == 0
    assert len(made) == 1
    assert made[0].tries <= labels.MOST_TRIES
