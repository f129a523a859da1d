"""Notches on the cut line beside a curve: back to the place that they were written from.

Written by the program and read again; and drawn by others, against closed forms: on a circle
the squares are its radii, whatever chords it is drawn with.
"""

from __future__ import annotations

from pathlib import Path

import ezdxf
import numpy as np
import numpy.typing as npt
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.io.dxf import WriteOptions, read, write
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo
from tests.examples import examples
from tests.io.dxf.hand import METRIC, Xy, piece, point, points, polyline, save, style

Array = npt.NDArray[np.float64]


def one_piece(side: Array, at: list[float], width: float) -> PatternSet:
    """A piece 500 mm tall with a curved right side and notches at shares of its length."""
    edges = [
        Edge("hem", frozen_points([(0.0, 0.0), tuple(side[0])])),
        Edge("side", frozen_points(side)),
        Edge("top", frozen_points([tuple(side[-1]), (0.0, 500.0)])),
        Edge("centre", frozen_points([(0.0, 500.0), (0.0, 0.0)])),
    ]
    drawn = shapely.LineString(side)
    marks = []
    for number, share in enumerate(at):
        place = drawn.interpolate(share, normalized=True)
        marks.append(Landmark(f"n_{number}", "side", (place.x, place.y), "notch"))
    sized = SizedPiece(edges=tuple(edges), grain=Grain((50, 50), (50, 400)), landmarks=tuple(marks))
    info = {"front": PieceInfo("front", allowance=Allowance(width))}
    return PatternSet("s", ("38",), "38", "lay_on", {"front": Piece("front", {"38": sized})}, info)


def bulged(by: float, count: int) -> Array:
    at = np.linspace(0.0, 1.0, count)
    return np.column_stack([250.0 + by * np.sin(np.pi * at), 500.0 * at])


@examples(25)
@given(
    by=st.floats(-80.0, 60.0),
    count=st.integers(5, 60),
    width=st.floats(4.0, 25.0),
    at=st.lists(st.floats(0.06, 0.94), min_size=1, max_size=8, unique=True),
)
def test_a_notch_reads_back_where_it_was_written(
    by: float, count: int, width: float, at: list[float], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Hollow or round, dense or coarse; without the texts that give its place away.

    The file is rounded to 0.001 mm; in a hollow what is off grows on the way back to the
    seam line.  A place square to a vertex beside it is written 0.0015 mm beside itself.
    """
    pattern = one_piece(bulged(by, count), at, width)
    path = tmp_path_factory.mktemp("n") / "s.dxf"
    write(pattern, path, WriteOptions(kind="nested", names=False))
    back, _ = read(path)
    wanted = np.array([mark.point for mark in pattern.sized("front", "38").landmarks])
    found = np.array([mark.point for mark in back.sized("front", "38").landmarks])
    gaps = np.hypot(*(found[:, None] - wanted[None]).transpose(2, 0, 1)).min(axis=0)
    assert gaps.max() < 0.004


@pytest.mark.parametrize("count", [9, 24])
def test_a_written_notch_lies_on_the_cut_line(count: int, tmp_path: Path) -> None:
    """As ezdxf and shapely see it."""
    pattern = one_piece(bulged(-60.0, count), [0.1, 0.3, 0.43, 0.5, 0.77, 0.9], 15.0)
    write(pattern, tmp_path / "s.dxf", WriteOptions(kind="nested", names=False))
    document = ezdxf.readfile(tmp_path / "s.dxf")
    block = next(b for b in document.blocks if not b.name.startswith(("*", "$")))
    (cut,) = (item for item in block.query("POLYLINE") if item.dxf.layer == "1")
    line = shapely.LinearRing([(v.dxf.location.x, v.dxf.location.y) for v in cut.vertices])
    notches = [p for p in block.query("POINT") if p.dxf.layer == "4"]
    assert len(notches) == 6
    for notch in notches:
        at = shapely.Point(notch.dxf.location.x, notch.dxf.location.y)
        assert line.distance(at) < 0.001


# ------------------------------------------------------------------------ drawn by others


def read_notches(folder: Path, seam: list[Xy], cut: list[Xy], at: list[Xy]) -> Array:
    corners = points("2", [seam[0], seam[-1], (0.0, 500.0), (0.0, 0.0)])
    block = piece(
        polyline("14", [*seam, (0.0, 500.0), (0.0, 0.0)]),
        corners,
        *(point("4", place) for place in at),
        boundary=polyline("1", [*cut, (0.0, 510.0), (0.0, -10.0)]),
    )
    pattern, _ = read(save(folder / "s.dxf", style([block], METRIC)))
    found = pattern.sized("front", "38").landmarks
    assert {mark.kind for mark in found} == {"notch"}
    return np.array([mark.point for mark in found])


def arc(radius: float, angles: Array) -> list[Xy]:
    """Of a circle about (400, 250), which the piece lies to the left of: its side is hollow."""
    x, y = 400.0 - radius * np.cos(angles), 250.0 + radius * np.sin(angles)
    return list(zip(x.tolist(), y.tolist(), strict=True))


@pytest.mark.parametrize("count", [12, 40])
def test_a_notch_of_another_program_on_a_hollow_curve_goes_back_along_the_radius(
    count: int, tmp_path: Path
) -> None:
    """Seam line of radius 150 mm, cut line of 140 mm: a notch at each angle, on both.

    The polygon's chords lie up to r (1 - cos(step / 2)) inside the circle.
    """
    ends = np.radians(75.0)
    angles = np.linspace(-ends, ends, count)
    step = float(angles[1] - angles[0])
    at = np.linspace(angles[1], angles[-2], 31)  # the last chords are square to themselves
    found = read_notches(tmp_path, arc(150.0, angles), arc(140.0, angles), arc(140.0, at))
    turned = np.arctan2(found[:, 1] - 250.0, 400.0 - found[:, 0])
    off = np.abs(np.sort(turned) - at) * 150.0
    assert off.max() < (0.02 if count == 40 else 0.06)
    assert (
        np.hypot(400.0 - found[:, 0], found[:, 1] - 250.0).min() > 150.0 * np.cos(step / 2) - 1e-6
    )


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("by", [-60.0, 40.0])
def test_a_notch_square_to_a_chord_at_its_end_is_at_that_vertex(
    by: float, side: int, tmp_path: Path
) -> None:
    """A sender that puts a notch square to the chord before or behind a vertex means the vertex."""
    seam = bulged(by, 14)
    vertices = [3, 6, 9]
    places = []
    for vertex in vertices:
        chord = (seam[vertex + 1] - seam[vertex]) if side > 0 else (seam[vertex] - seam[vertex - 1])
        out = np.array([chord[1], -chord[0]]) / np.hypot(*chord)
        places.append(tuple((seam[vertex] + 10.0 * out).round(4).tolist()))
    cut = list(map(tuple, np.add(seam, (10.0, 0.0)).tolist()))
    found = read_notches(tmp_path, list(map(tuple, seam.tolist())), cut, places)
    assert np.hypot(*(found - seam[vertices]).T).max() < 1e-6


def test_a_notch_on_a_straight_line_beside_a_curve_stays_square_to_it(tmp_path: Path) -> None:
    """A leg: 400 mm straight, then a curve in short chords; 370 mm up the straight."""
    straight = np.array([[250.0, 0.0], [230.0, 400.0]])
    at = np.linspace(0.0, 1.0, 8)[1:]
    curve = np.column_stack([230.0 - 5.0 * at - 12.0 * at**2, 400.0 + 100.0 * at])
    seam = np.vstack([straight, curve])
    along = (straight[1] - straight[0]) / np.hypot(*(straight[1] - straight[0]))
    wanted = straight[0] + 370.0 * along
    place = wanted + 10.0 * np.array([along[1], -along[0]])
    cut = list(map(tuple, np.add(seam, (10.0, 0.0)).tolist()))
    found = read_notches(tmp_path, list(map(tuple, seam.tolist())), cut, [tuple(place.tolist())])
    assert np.hypot(*(found[0] - wanted)) < 1e-6
