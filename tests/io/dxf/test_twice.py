"""Files given twice, in UTF-16, or with a rule file that belongs to none: told with the cure."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from propagate.errors import FormatError
from propagate.io.begin import read_style
from propagate.io.dxf import read
from tests.io.dxf.hand import METRIC, pairs, piece, point, save, style, text

TABLE = "UNITS: METRIC\nSIZE LIST: 36 38 40\nSAMPLE SIZE: 38\nRULE: DELTA 7\n{}\nEND\n"


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("which", ["s.dxf", "s.rul"])
def test_utf_16_is_named_with_the_cure(encoding: str, which: str, tmp_path: Path) -> None:
    save(tmp_path / "s.dxf", style([piece(text("2", (0, 0), "# 7"))], METRIC))
    save(tmp_path / "s.rul", TABLE.format("1, 1  0, 0  1, 1"))
    path = tmp_path / which
    path.write_bytes(path.read_text("ascii").encode(encoding))
    with pytest.raises(FormatError, match=rf"{re.escape(which)}: found UTF-16 text.*UTF-8"):
        read(tmp_path / "s.dxf")


def test_a_file_given_twice_is_refused(tmp_path: Path) -> None:
    path = save(tmp_path / "s.dxf", style([piece()], METRIC))
    with pytest.raises(FormatError, match=r"the file '.*s\.dxf' twice.*expected each file once"):
        read([path, tmp_path / ".." / tmp_path.name / "s.dxf"])
    copy = save(tmp_path / "copy.dxf", path.read_text("ascii"))
    with pytest.raises(
        FormatError, match=r"piece 'front', size 38: found the same drawing in 's\.dxf' and 'copy"
    ):
        read([path, copy])


def test_two_sizes_drawn_alike_are_no_copies(tmp_path: Path) -> None:
    """Each size in a file of its name, without a size in it: a band may be the same in both."""
    content = style([piece().replace("Size: 38", "Category: band")], METRIC.replace("38", "S"))
    content = content.replace("front-38", "front")
    pattern, _ = read([save(tmp_path / f"{size}.dxf", content) for size in ("S", "M")])
    assert set(pattern.sizes) == {"S", "M"}


def test_a_piece_drawn_in_two_files_names_the_one_that_is_taken(tmp_path: Path) -> None:
    first = save(tmp_path / "a.dxf", style([piece()], METRIC))
    other = save(tmp_path / "b.dxf", style([piece(point("13", (50, 50)))], METRIC))
    pattern, report = read([first, other])
    assert not pattern.sized("front", "38").drills
    assert any(
        "(size 38); the first, in a.dxf, is taken" in note.text for note in report.of("warning")
    )


def test_two_rule_files_for_one_drawing_are_refused(tmp_path: Path) -> None:
    path = save(tmp_path / "s.dxf", style([piece(text("2", (0, 0), "# 7"))], METRIC))
    rules = [save(tmp_path / f"{n}.rul", TABLE.format("1, 1  0, 0  1, 1")) for n in ("s", "t")]
    with pytest.raises(FormatError, match=r"2 rule files \(s\.rul, t\.rul\).*'t\.rul' has none"):
        read_style([path, *rules])


def test_rule_files_beside_their_drawings_are_each_taken(tmp_path: Path) -> None:
    """`begin FOLDER` with two drawings and their rule files: each moves by its own."""
    for name, by in (("a", 5), ("b", 9)):
        block = piece(text("2", (0, 0), "# 7"), name=name)
        save(tmp_path / f"{name}.dxf", style([block], METRIC))
        save(tmp_path / f"{name}.rul", TABLE.format(f"0, 0  0, 0  {-by}, 0"))
    pattern, _ = read_style([tmp_path])
    for name, by in (("a", -5), ("b", -9)):
        assert pattern.sized(name, "40").outline[:, 0].min() == by


def test_the_group_code_of_a_broken_file_is_shown_without_python_marks(tmp_path: Path) -> None:
    path = tmp_path / "s.dxf"
    path.write_bytes(pairs(0, "SECTION", 2, "HEADER", "\x01'x", 1).encode() + b"0\nEOF\n")
    with pytest.raises(FormatError) as caught:
        read(path)
    assert "\\x" not in str(caught.value)
    assert "found the group code '?'x'" in str(caught.value)
