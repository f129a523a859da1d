"""The drafted gilet, judged from its files alone.

The DXF is read with ezdxf and the rules with a small reader of this module; lengths and
areas come from shapely.  Trade facts (sides of equal length, seams that run on squarely)
are common practice, no source.
"""

from __future__ import annotations

import itertools
import re
import runpy
from functools import cache
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "workshop_gilet"
SIZES = ["84", "90", "96", "102", "110", "118"]
PIECES = {
    "upper_front", "upper_back", "lower_front", "lower_back",
    "armhole_binding", "collar", "zip_guard", "pocket",
}  # fmt: skip
DOCUMENT = ezdxf.readfile(HOME / "workshop_gilet.dxf")


def rules() -> dict[str, np.ndarray]:
    """Rule number to its (6, 2) deltas from the sample size."""
    text = (HOME / "workshop_gilet.rul").read_text("ascii")
    found = {}
    for part in text.split("RULE: DELTA")[1:]:
        number, _, rest = part.strip().partition("\n")
        values = [float(v) for v in re.findall(r"-?\d+\.\d+", rest)]
        found[number.strip()] = np.array(values).reshape(-1, 2)
    return found


RULES = rules()


@cache
def outline(piece: str, size: str) -> np.ndarray:
    """The seam line in a size: each vertex moved by the rule that stands on it."""
    (seam,) = (e for e in DOCUMENT.blocks[piece].query("POLYLINE") if e.dxf.layer == "14")
    places = np.array([v.dxf.location.vec2 for v in seam.vertices])
    marks = [
        (np.array(t.dxf.insert.vec2), RULES[t.dxf.text.strip("# ")])
        for t in DOCUMENT.blocks[piece].query("TEXT")
        if t.dxf.text.startswith("#") and t.dxf.layer in ("2", "3")
    ]
    column = SIZES.index(size)
    at = np.array([place for place, _ in marks])
    near = np.abs(places[:, None] - at).max(axis=2) < 1e-6
    known = {i: marks[row.argmax()][1][column] for i, row in enumerate(near) if row.any()}
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
    around = arc[-1] + float(np.hypot(*(places[0] - places[-1])))
    own = [arc[i] for i in known]
    moves = np.column_stack(
        [np.interp(arc, own, [m[k] for m in known.values()], period=around) for k in (0, 1)]
    )
    return places + moves


@cache
def edges(piece: str, size: str) -> dict[str, LineString]:
    """Edges by the names that stand at their middles in the base size."""
    base, points = outline(piece, "96"), outline(piece, size)
    turns = {
        tuple(np.round(p.dxf.location.vec2, 3))
        for p in DOCUMENT.blocks[piece].query("POINT")
        if p.dxf.layer == "2"
    }
    corners = [i for i, p in enumerate(base) if tuple(np.round(p, 3)) in turns]
    names = {
        t.dxf.text.split()[1]: np.array(t.dxf.insert.vec2)
        for t in DOCUMENT.blocks[piece].query("TEXT")
        if t.dxf.text.startswith("@edge")
    }
    found = {}
    for a, b in itertools.pairwise([*corners, corners[0] + len(base)]):
        index = np.arange(a, b + 1) % len(base)
        whole = LineString(base[index])
        name = min(names, key=lambda n: whole.distance(ezdxf_point(names[n])))
        found[name] = LineString(points[index])
    return found


def ezdxf_point(at: np.ndarray) -> LineString:
    return LineString([at, at + 1e-9])


def test_the_files_are_what_the_draft_writes(tmp_path: Path) -> None:
    draft = runpy.run_path(str(HOME / "draft.py"))
    draft["write_set"](tmp_path)
    draft["write_revised"](tmp_path / "revised")
    written = sorted(p.relative_to(tmp_path) for p in tmp_path.rglob("*") if p.is_file())
    assert len(written) == 5
    for path in written:
        assert (tmp_path / path).read_bytes() == (HOME / path).read_bytes(), path


def test_the_drawing_is_sound_and_every_piece_is_ruled() -> None:
    assert not DOCUMENT.audit().errors
    assert {b.name for b in DOCUMENT.blocks if not b.name.startswith("*")} == PIECES
    for piece in PIECES:
        texts = [t.dxf.text for t in DOCUMENT.blocks[piece].query("TEXT")]
        assert any(text.startswith("# ") for text in texts)
        assert not any(text.startswith("@level") for text in texts)


@pytest.mark.parametrize("size", SIZES)
def test_no_outline_crosses_itself_in_any_size(size: str) -> None:
    for piece in PIECES:
        shape = Polygon(outline(piece, size))
        assert shape.is_valid and shape.area > 5000.0, piece


def test_the_grade_is_not_constant() -> None:
    widths = [float(np.ptp(outline("upper_front", size)[:, 0])) for size in SIZES]
    steps = np.diff(widths)
    assert steps.min() > 10.0
    assert steps.max() - steps.min() > 3.0
    pockets = [float(np.ptp(outline("pocket", size)[:, 0])) for size in SIZES]
    assert np.diff(pockets) == pytest.approx([4.0, 4.0, 0.0, 6.0, 0.0], abs=1e-6)


@pytest.mark.parametrize("size", SIZES)
def test_what_is_sewn_together_is_as_long_as_each_other(size: str) -> None:
    made = {piece: edges(piece, size) for piece in PIECES}

    def long(*names: str) -> float:
        return sum(made[n.split(".")[0]][n.split(".")[1]].length for n in names)

    for a, b in (
        (["lower_front.side"], ["lower_back.side"]),
        (["upper_front.side"], ["upper_back.side"]),
        (["upper_front.shoulder"], ["upper_back.shoulder"]),
        (["upper_front.waist"], ["lower_front.waist"]),
        (["upper_back.waist"], ["lower_back.waist"]),
        (["armhole_binding.sewn"], ["upper_back.armhole", "upper_front.armhole"]),
        (["collar.sewn"], ["upper_back.neck", "upper_front.neck"]),
        (["zip_guard.sewn"], ["lower_front.centre", "upper_front.centre"]),
    ):
        assert long(*a) == pytest.approx(long(*b), abs=0.02), (a, b)


def test_the_revised_fronts_change_what_their_names_say() -> None:
    base = ezdxf.readfile(HOME / "revised" / "front_base_size.dxf")
    every = ezdxf.readfile(HOME / "revised" / "front_all_sizes.dxf")
    assert not base.audit().errors and not every.audit().errors
    names = [t.dxf.text for b in base.blocks for t in b.query("TEXT")]
    assert not any(text.startswith("@edge") for text in names)
    (block,) = (b for b in base.blocks if not b.name.startswith("*"))
    (seam,) = (e for e in block.query("POLYLINE") if e.dxf.layer == "14")
    new = Polygon([v.dxf.location.vec2 for v in seam.vertices])
    old = Polygon(outline("lower_front", "96"))
    assert new.is_valid
    assert 200.0 < new.area - old.area + 7.0 / 2 * 280.0 < 1200.0  # let out, less the hem
    assert (HOME / "revised" / "front_all_sizes.rul").is_file()
