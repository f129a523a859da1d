"""A hip that no notch shows is asked for, and lies where the closed form of the side says."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from scipy.integrate import quad
from scipy.optimize import brentq

import propagate
from propagate import Blend, blend
from propagate.cli import app
from propagate.io.output import amend_files
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.suggesting.blending import find_blendings
from propagate.suggesting.side_seams import find_side_seam
from tests import builders

BELOW = 180.0
"""Along the side; the builders' parabola ends 200 mm below the waist's centre."""
AGREES_MM = 0.2


def height_of(size: str, along: float) -> float:
    """The height at which so much of the parabola lies above, by scipy's quadrature."""
    reach = builders.rise(size) - builders.HIP_Y
    wide = builders.HIP[size] - builders.WAIST[size]

    def slope(y: float) -> float:
        return -2.0 * wide * max(0.0, (y - builders.HIP_Y) / reach) / reach

    def left(y: float) -> float:
        return float(quad(lambda t: np.hypot(1.0, slope(t)), y, builders.rise(size))[0]) - along

    return float(brentq(left, builders.HIP_Y - 300.0, builders.rise(size)))


def without_hip(real: PatternSet) -> PatternSet:
    """No level, no notch at the hip, no blend, no hold: a skirt as many people draw it."""
    pieces = {
        name: Piece(
            name,
            {
                size: replace(
                    sized,
                    levels={},
                    landmarks=tuple(one for one in sized.landmarks if one.name != "hip_notch"),
                )
                for size, sized in piece.nest.items()
            },
        )
        for name, piece in real.pieces.items()
    }
    info = {name: replace(one, anchors={}) for name, one in real.info.items()}
    held = real.relations
    seams = {name: replace(one, hold=None, notches=()) for name, one in held.seams.items()}
    bare = replace(held, blend=None, seams=seams, girths={})
    return replace(real, pieces=pieces, info=info, lay_on="", relations=bare)


def by_hand(real: PatternSet) -> PatternSet:
    """The set that the draft would have with its hip there, levels by the closed form."""
    bare = without_hip(real)
    pieces = {
        name: Piece(
            name,
            {
                size: replace(
                    sized, levels={"waist": (0.0, 0.0), "hip": (0.0, height_of(size, BELOW))}
                )
                for size, sized in piece.nest.items()
            },
        )
        for name, piece in bare.pieces.items()
    }
    held, own = bare.relations, real.relations
    seams = {name: replace(one, hold="hip") for name, one in held.seams.items()}
    relations = replace(held, blend=own.blend, girths=own.girths, seams=seams)
    return replace(bare, pieces=pieces, lay_on="hip", relations=relations)


@pytest.fixture
def skirt(tmp_path: Path) -> Path:
    folder = tmp_path / "skirt"
    propagate.save(without_hip(builders.tiny_set()), folder)
    return folder


def ask(folder: Path, *words: str) -> str:
    said = "".join(f"{word}\n" for word in words)
    done = CliRunner().invoke(app.cli, ["suggest", str(folder), "--ask"], input=said)
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def drawn(folder: Path) -> dict[str, object]:
    """All geometry but the levels, as it is written."""
    found: dict[str, object] = {}
    for file in sorted((folder / "geometry").glob("*.json")):
        piece = json.loads(file.read_text("utf-8"))
        for sized in piece["sizes"].values():
            sized.pop("levels", None)
        found[file.name] = piece
    return found


def test_blends_are_those_of_the_set_that_was_written_by_hand(skirt: Path) -> None:
    before = drawn(skirt)
    text = ask(skirt, "n", "n", "n", "900mm", "10", "18 cm", "y")
    assert "how far below the waist, along the side, is the hip taken" in text
    assert text.count("expected a distance of 30 to ") == 2
    assert "180.0 mm along the side on both, in every size" in text
    assert "propagate blend can be used on it now" in text
    assert drawn(skirt) == before
    mine, hand = propagate.load(skirt), by_hand(builders.tiny_set())
    for upper, lower in (("36", "38"), ("40", "36"), ("36", "40"), ("38", "40")):
        got, own = (
            blend(one, Blend({"waist": upper, "hip": lower})).pattern for one in (mine, hand)
        )
        for piece in ("front", "back"):
            rings = [
                shapely.LinearRing(x - x.min(axis=0))
                for x in (one.sized(piece, one.base).outline for one in (got, own))
            ]
            assert shapely.hausdorff_distance(*rings) < AGREES_MM, (piece, upper, lower)
    assert "for blending sizes" not in ask(skirt).lower()


def test_the_hip_is_as_far_below_the_waist_in_every_size_on_both() -> None:
    bare = without_hip(builders.tiny_set())
    found, _ = find_blendings(bare, BELOW)  # the hem is sewn to nothing, as the waist is
    joined = found.put_on(bare)
    for size in bare.sizes:
        for name, sign in (("front", 1.0), ("back", -1.0)):
            x, y = joined.sized(name, size).levels["hip"]
            assert y == pytest.approx(height_of(size, BELOW), abs=0.05)
            assert sign * x == pytest.approx(builders.side_x(size, y), abs=0.05)


def test_what_cannot_lie_on_the_side_is_no_hip() -> None:
    bare = without_hip(builders.tiny_set())
    seam = find_side_seam(bare)
    assert seam is not None
    assert seam.size == "36"  # the least rise: the sides of the others are longer
    assert not find_blendings(bare, seam.shortest)
    assert not find_blendings(bare, 5.0)
    assert find_blendings(bare, seam.shortest - 31.0)


def test_notches_at_the_knee_are_no_hip() -> None:
    """They lie some 550 to 600 mm below the waist; the hip 200 (common practice, no source)."""
    real = builders.tiny_set()
    low = 350.0
    pieces = {}
    for name, piece in without_hip(real).pieces.items():
        nest = {}
        for size, sized in piece.nest.items():
            marks = [one for one in real.sized(name, size).landmarks if one.name == "hip_notch"]
            x, y = marks[0].point
            knee = replace(marks[0], point=(x, y - low))
            nest[size] = replace(sized, landmarks=(*sized.landmarks, knee))
        pieces[name] = Piece(name, nest)
    bare = without_hip(real)
    seams = {
        name: replace(one, notches=real.relations.seams[name].notches)
        for name, one in bare.relations.seams.items()
    }
    marked = replace(bare, pieces=pieces, relations=replace(bare.relations, seams=seams))
    assert find_blendings(marked) == ()
    assert find_blendings(marked, BELOW)


def replace_blend(real: PatternSet) -> PatternSet:
    return replace(real, relations=replace(real.relations, blend=None))


def test_a_level_that_is_drawn_is_the_hip() -> None:
    real = builders.tiny_set()
    found, _ = find_blendings(replace_blend(real))
    assert found.levels == {} and found.hip_along is None
    assert [mark for mark, _ in found.hip.values()] == [None, None]
    assert find_side_seam(replace_blend(real)) is None


def test_several_files_are_changed_or_none(tmp_path: Path) -> None:
    (tmp_path / "geometry").mkdir()
    names = ("geometry/front.json", "geometry/back.json", "set.toml")
    for name in names:
        (tmp_path / name).write_bytes(b"old")
    wrong = {name: (b"old" if name != "set.toml" else b"other", b"new") for name in names}
    with pytest.raises(propagate.OutputError, match="was changed while"):
        amend_files(tmp_path, wrong)
    assert {(tmp_path / name).read_bytes() for name in names} == {b"old"}
    amend_files(tmp_path, dict.fromkeys(names, (b"old", b"new")))
    assert {(tmp_path / name).read_bytes() for name in names} == {b"new"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["geometry", "set.toml"]


def test_a_set_that_keeps_its_drawing_has_its_levels_in_its_text(tmp_path: Path) -> None:
    """A DXF has no level at a distance: it stays byte for byte, and is what the set reads."""
    source, drawing = tmp_path / "source", tmp_path / "skirt.dxf"
    propagate.save(without_hip(builders.tiny_set()), source)
    run("convert", str(source), str(drawing), "--to", "dxf")
    folders = tmp_path / "kept", tmp_path / "ours"
    run("begin", str(drawing), "-o", str(folders[0]), "--keep-dxf")
    run("begin", str(drawing), "-o", str(folders[1]))
    before = {path.name: path.read_bytes() for path in folders[0].iterdir() if path.is_file()}
    for folder in folders:
        assert "180.0 mm along the side" in ask(folder, *["y"] * 5, "180mm", "y", "s")
    now = {path.name: path.read_bytes() for path in folders[0].iterdir() if path.is_file()}
    assert now.keys() == before.keys() and not (folders[0] / "geometry").exists()
    assert now["skirt.dxf"] == before["skirt.dxf"]
    kept, ours = map(propagate.load, folders)
    for piece in kept.pieces:
        for size in kept.sizes:
            levels = (one.sized(piece, size).levels for one in (kept, ours))
            assert next(levels) == next(levels) != {}
    # Saved elsewhere with a level that lies lower now, it is still the drawing that is read.
    nest = {
        size: replace(one, levels={**one.levels, "hip": (1.5, one.levels["hip"][1] - 20.0)})
        for size, one in kept.pieces["front"].nest.items()
    }
    lower = replace(kept, pieces={**kept.pieces, "front": Piece("front", nest)})
    propagate.save(lower, tmp_path / "lower")
    assert (tmp_path / "lower" / "skirt.dxf").read_bytes() == before["skirt.dxf"]
    again = propagate.load(tmp_path / "lower")
    for size, one in nest.items():
        assert again.sized("front", size).levels == one.levels
    # Taken back, nothing is left of it.
    ask(folders[0], *["u"] * 3, "s")
    bare = propagate.load(folders[0])
    assert bare.relations.blend is None
    assert all(bare.sized(piece, bare.base).levels == {} for piece in bare.pieces)


def run(*words: str) -> None:
    done = CliRunner().invoke(app.cli, list(words))
    assert done.exit_code == 0, done.output
