"""An edit done by the tool itself and sent back as a drawing gives the same companions.

The mains of a blend (with the facing, which is the corner of the full front) are exported,
moved about as another program might, and put into the set of the lower size alone.  What
follows them is compared with what followed in the blend, by shapely and by lengths.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.engine.revise import revise
from propagate.engine.revised import Revised
from propagate.engine.run import Result
from propagate.io.begin import read_style
from propagate.io.convert import write_style
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.spans import run_length
from tests import shared
from tests.examples import examples
from tests.shared import demo, in_sizes

Array = npt.NDArray[np.float64]
PROMISE_MM = 0.02

CASES = [
    ("slant_trouser", "40", "44", ("front", "facing", "back"), ("under_bag", "top_bag")),
    ("slant_trouser", "46", "42", ("front", "facing", "back"), ("under_bag", "top_bag")),
    (
        "scoop_skirt",
        "S",
        "L",
        ("skirt_front", "pocket_facing", "skirt_back"),
        ("bag_back", "bag_front"),
    ),
]


def blended(name: str, upper: str, lower: str) -> tuple[PatternSet, Result]:
    """The set in the lower size alone, and the blend; its pocket is of the lower size too."""
    column = in_sizes(replace(demo(name), base=lower), (lower,))
    return column, shared.blended(name, upper, lower, pocket="lower")


def by_dxf(
    pieces: dict[str, SizedPiece], size: str, folder: Path, source: PatternSet
) -> PatternSet:
    """Write pieces as a nested DXF of 0.001 mm and read it again."""
    style = replace(
        source,
        pieces={name: Piece(name, {size: piece}) for name, piece in pieces.items()},
        info={name: source.info[name] for name in pieces},
        relations=Relations(),
        chart={},
    )
    write_style(style, folder / "sent.dxf", "dxf", decimals=3)
    return read_style([folder / "sent.dxf"])[0]


def sent_about(
    piece: SizedPiece, angle: float, shift: tuple[float, float], mirror: bool, start: int, seed: int
) -> SizedPiece:
    """Another frame, another first corner, other names, and 0.01 mm of noise."""
    rng = np.random.default_rng(seed)
    noise: dict[tuple[float, ...], Array] = {}
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])

    def moved(points: npt.ArrayLike, wobble: float = 0.01) -> Array:
        rows = np.asarray(points, dtype=float).reshape(-1, 2)
        off = np.array(
            [noise.setdefault(tuple(p), rng.uniform(-1, 1, 2) / np.sqrt(2)) for p in rows.tolist()]
        )
        flipped = rows * ([-1.0, 1.0] if mirror else [1.0, 1.0])
        return np.asarray(flipped @ turn.T + shift + wobble * off)

    edges = [Edge(edge.name, moved(edge.points)) for edge in piece.edges]
    if mirror:
        edges = [Edge(edge.name, edge.points[::-1]) for edge in reversed(edges)]
    first = start % len(edges)
    ends = moved([piece.grain.start, piece.grain.end], 0.0).tolist()
    marks = tuple(
        replace(m, point=(float(p[0]), float(p[1])))
        for m in piece.landmarks
        for p in moved(m.point)
    )
    darts = tuple(
        replace(d, tip=(float(p[0]), float(p[1]))) for d in piece.darts for p in moved(d.tip)
    )
    return SizedPiece(
        edges=tuple(edges[first:] + edges[:first]),
        grain=Grain(tuple(ends[0]), tuple(ends[1])),
        landmarks=marks,
        darts=darts,
    )


def apart(result: Result, found: Revised, name: str) -> float:
    """Hausdorff distance of a companion in the blend and in the revision, mm."""
    size, lower = result.record.size, found.pattern.base
    a, b = (
        shapely.Polygon(pattern.sized(name, s).outline).exterior
        for pattern, s in ((result.pattern, size), (found.pattern, lower))
    )
    return float(shapely.hausdorff_distance(a, b))


def zones(pattern: PatternSet, size: str) -> Array:
    """Lengths of the zones of every band, from the band itself."""
    found = []
    for band in pattern.relations.bands.values():
        piece = pattern.sized(band.piece, size)
        found += [
            piece.distance(band.sewn, z.end) - piece.distance(band.sewn, z.begin)
            for z in band.zones
            if z.run
        ]
    return np.array(found)


def sides(pattern: PatternSet, size: str) -> Array:
    """Length of every matched seam on its follower."""
    seams = [s for s in pattern.relations.seams.values() if not s.check and not s.mirror]
    return np.array([run_length(lambda name: pattern.sized(name, size), s.follow) for s in seams])


def agrees(result: Result, found: Revised, companions: tuple[str, ...]) -> None:
    size, lower = result.record.size, found.pattern.base
    for name in companions:
        assert apart(result, found, name) <= PROMISE_MM, name
    assert np.abs(zones(result.pattern, size) - zones(found.pattern, lower)).max() <= PROMISE_MM
    assert np.abs(sides(result.pattern, size) - sides(found.pattern, lower)).max() <= PROMISE_MM


@pytest.mark.parametrize(("name", "upper", "lower", "mains", "companions"), CASES)
def test_the_tools_own_edit_sent_as_dxf(
    name: str,
    upper: str,
    lower: str,
    mains: tuple[str, ...],
    companions: tuple[str, ...],
    tmp_path: Path,
) -> None:
    """Measured: bags within 0.002 mm, zones of the band and seams within 0.002 mm."""
    column, result = blended(name, upper, lower)
    pieces = {name: result.pattern.sized(name, result.record.size) for name in mains}
    sent = by_dxf(pieces, lower, tmp_path, column)
    found = revise(column, {name: sent.pieces[name] for name in mains})
    agrees(result, found, companions)


@pytest.mark.parametrize(("name", "upper", "lower", "mains", "companions"), CASES[::2])
@examples(5)
@given(
    angle=st.floats(-3.1, 3.1),
    shift=st.tuples(st.floats(-3e3, 3e3), st.floats(-3e3, 3e3)),
    mirror=st.booleans(),
    start=st.integers(0, 6),
    seed=st.integers(0, 1000),
)
def test_the_tools_own_edit_in_any_frame_with_noise(
    name: str,
    upper: str,
    lower: str,
    mains: tuple[str, ...],
    companions: tuple[str, ...],
    angle: float,
    shift: tuple[float, float],
    mirror: bool,
    start: int,
    seed: int,
) -> None:
    column, result = blended(name, upper, lower)
    sent = {
        name: Piece(
            name,
            {
                lower: sent_about(
                    result.pattern.sized(name, result.record.size),
                    angle,
                    shift,
                    mirror,
                    start,
                    seed + i,
                )
            },
        )
        for i, name in enumerate(mains)
    }
    agrees(result, revise(column, sent), companions)


def test_a_front_alone_is_asked_for_the_facing() -> None:
    """Where the corner beyond a moved opening went, a front without it cannot say."""
    pattern, result = blended("slant_trouser", "40", "44")
    size = result.record.size
    sent = {
        name: Piece(name, {pattern.base: result.pattern.sized(name, size)})
        for name in ("front", "back", "facing")
    }
    alone = revise(pattern, {"front": sent["front"]})
    said = [n.text for n in alone.records[pattern.base].warnings if "send 'facing' too" in n.text]
    assert len(said) == 1
    moved = result.pattern.sized("front", size).edge("mouth").points[[0, -1]]
    was = pattern.sized("front", pattern.base).edge("mouth").points[[0, -1]]
    assert f"{np.hypot(*(moved - was).T).max():.1f} mm" in said[0]
    whole = revise(pattern, sent)
    assert not any("send" in n.text for n in whole.records[pattern.base].warnings)
