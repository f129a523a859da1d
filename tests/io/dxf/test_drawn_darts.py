"""Darts as other programs draw them: a V in the outline, or two notches and a drill mark.

The cut line is shapely's offset of the seam line with mitred corners.
"""

from __future__ import annotations

from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from click.testing import CliRunner

from propagate.cli import app
from propagate.io.dxf.read import read
from propagate.io.dxf.write import write
from propagate.io.options import ReadOptions, WriteOptions
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Span
from propagate.pattern.spans import span_length
from tests.io.dxf import hand

Xy = tuple[float, float]
SIZES = {"36": (190.0, 20.0), "38": (200.0, 22.0), "40": (212.0, 25.0)}
"""Width of the piece and mouth of its dart, mm."""
DEEP = 110.0
LEG = {size: float(np.hypot(mouth / 2, DEEP)) for size, (_, mouth) in SIZES.items()}


def ring(size: str, kind: str) -> list[Xy]:
    """A skirt back from the lower left; its waist is straight, so that all is known of it."""
    wide, mouth = SIZES[size]
    right, left = (130.0 + mouth / 2, 600.0), (130.0 - mouth / 2, 600.0)
    tip = [(130.0, 600.0 - DEEP)] if kind == "outline" else []
    return [(0.0, 0.0), (wide, 0.0), (wide, 600.0), right, *tip, left, (0.0, 600.0)]


def block(size: str, kind: str, turns: str) -> str:
    seam = ring(size, kind)
    wide, _ = SIZES[size]
    polygon = shapely.Polygon(seam)
    cut = shapely.buffer(polygon, 10.0, join_style="mitre", mitre_limit=40.0)
    corners = [seam[0], seam[1], seam[2], *(seam[3:6] if kind == "outline" else ()), seam[-1]]
    ends = {"seam": corners, "none": []}.get(turns, list(cut.exterior.coords)[:-1])
    drills = [] if kind == "outline" else [(130.0, 600.0 - DEEP)]
    return hand.block(
        f"back_{size}",
        hand.words("Piece Name: back", f"Size: {size}", "Quantity: 1,1"),
        hand.polyline("1", list(cut.exterior.coords)[:-1]),
        hand.polyline("14", seam),
        hand.points("2", ends),
        hand.points("4", [(x, 610.0) for x, _ in (seam[3], seam[-2])]),
        hand.points("13", drills),
        hand.line("7", (wide / 3, 100), (wide / 3, 400)),
    )


def drawing(folder: Path, kind: str, turns: str = "seam") -> Path:
    blocks = [block(size, kind, turns) for size in SIZES]
    inserts = "".join(hand.insert(f"back_{size}") for size in SIZES)
    return hand.save(folder / "back.dxf", hand.style(blocks, hand.METRIC, inserts))


def waist_of(piece: SizedPiece) -> str:
    (dart,) = piece.darts
    return dart.edge


@pytest.mark.parametrize("kind", ["outline", "marks"])
@pytest.mark.parametrize("turns", ["seam", "cut", "none"])
def test_a_dart_is_read_on_one_edge_in_every_size(tmp_path: Path, kind: str, turns: str) -> None:
    pattern, report = read(drawing(tmp_path, kind, turns))
    for size, (wide, mouth) in SIZES.items():
        piece = pattern.sized("back", size)
        assert len(piece.edges) == 4
        waist = waist_of(piece)
        assert piece.edge(waist).length == pytest.approx(wide, abs=1e-3)
        assert span_length(piece, Span("back", waist)) == pytest.approx(wide - mouth, abs=1e-3)
        (dart,) = piece.darts
        assert dart.tip == pytest.approx((130.0, 490.0))
        legs = [np.hypot(*np.subtract(piece.landmark(n).point, dart.tip)) for n in dart.legs]
        assert legs == pytest.approx([LEG[size]] * 2, abs=1e-3)
        assert dart.legs == ("notch_1", "notch_2")
    said = [str(note) for note in report.lines if "dart" in str(note)]
    assert any(f"{LEG['38']:.1f}" in text and "22.0 mm" in text for text in said)
    assert pattern.info["back"].allowance.default == 10.0
    assert not pattern.info["back"].allowance.edges
    assert not [note for note in report.lines if "the cut line lies" in str(note)]


@pytest.mark.parametrize("kind", ["outline", "marks"])
def test_an_option_leaves_it_as_it_is_drawn(tmp_path: Path, kind: str) -> None:
    file = drawing(tmp_path, kind)
    pattern, report = read(file, ReadOptions(dxf={"darts": "edges"}))
    piece = pattern.sized("back", "38")
    assert not piece.darts
    assert len(piece.edges) == (7 if kind == "outline" else 4)
    assert not [note for note in report.lines if "taken for" in str(note)]


@pytest.mark.parametrize("kind", ["outline", "marks"])
def test_what_was_not_touched_goes_back_letter_for_letter(tmp_path: Path, kind: str) -> None:
    file = drawing(tmp_path, kind)
    pattern, _ = read(file)
    write(pattern, tmp_path / "back_again.dxf")
    assert (tmp_path / "back_again.dxf").read_bytes() == file.read_bytes()


def test_drawn_anew_it_has_notches_and_a_mark_and_comes_back_the_same(tmp_path: Path) -> None:
    pattern, _ = read(drawing(tmp_path, "outline"))
    write(pattern, tmp_path / "anew.dxf", WriteOptions(kind="nested", names=False))
    document = ezdxf.readfile(tmp_path / "anew.dxf")
    block = next(b for b in document.blocks if "38" in b.name and "back" in b.name.lower())
    drills = [e.dxf.location for e in block.query('POINT[layer=="13"]')]
    assert [(round(p.x, 3), round(p.y, 3)) for p in drills] == [(130.0, 490.0)]
    again, _ = read(tmp_path / "anew.dxf")
    for size in SIZES:
        old, new = pattern.sized("back", size), again.sized("back", size)
        assert new.darts[0].tip == pytest.approx(old.darts[0].tip, abs=1e-3)
        assert span_length(new, Span("back", waist_of(new))) == pytest.approx(
            span_length(old, Span("back", waist_of(old))), abs=2e-3
        )


def test_begin_says_what_was_done(tmp_path: Path) -> None:
    file = drawing(tmp_path, "outline")
    result = CliRunner().invoke(app.cli, ["begin", str(file), "-o", str(tmp_path / "set")])
    assert result.exit_code == 0, result.output
    words = " ".join(result.output.split())
    assert "a dart that the outline runs around is taken for 'dart_1'" in words
    assert "[--dxf darts=...]" in words
    assert "drawn anew has notches and a drill mark" in words


def test_legs_that_differ_are_told_and_stay(tmp_path: Path) -> None:
    text = drawing(tmp_path, "outline").read_bytes().decode("latin-1")
    file = tmp_path / "back.dxf"
    moved = text.replace("10\n130.0\n20\n490.0\n", "10\n141.0\n20\n490.0\n")
    assert moved != text
    hand.save(file, moved)
    pattern, report = read(file)
    assert not pattern.sized("back", "38").darts
    told = [str(note) for note in report.lines if "not taken for a dart" in str(note)]
    assert len(told) == 1
    assert f"its legs differ by {np.hypot(21.0, DEEP) - np.hypot(1.0, DEEP):.1f} mm" in told[0]
    assert told[0].startswith("warning")
