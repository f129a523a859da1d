"""Written and read again: everything that a drawing carries comes back."""

from __future__ import annotations

import math
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.demo import demo_names
from propagate.errors import OutputError
from propagate.io.options import ReadOptions, SvgWriting
from propagate.io.svg.read import read_drawings
from propagate.io.svg.write import write_drawings
from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Edge,
    InternalLine,
    Label,
    Landmark,
    Mark,
    Piece,
    SizedPiece,
    frozen_points,
)
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo
from propagate.pattern.validate import find_problems
from tests.examples import examples, part_of
from tests.shared import demo


def there_and_back(
    pattern: PatternSet, folder: Path, writing: SvgWriting | None = None
) -> PatternSet:
    chosen = writing or SvgWriting()
    target = folder / ("out.svg" if chosen.one_file else "out")
    write_drawings(pattern, target, chosen)
    found, report = read_drawings([target], ReadOptions(base=pattern.base, sizes=pattern.sizes))
    assert not report.of("warning", "ignored", "repaired")
    return found


def assert_same(a: PatternSet, b: PatternSet, within: float) -> None:
    assert (a.sizes, a.base, list(a.pieces)) == (b.sizes, b.base, list(b.pieces))
    for name in a.pieces:
        for size in a.sizes:
            one, two = a.sized(name, size), b.sized(name, size)
            assert one.edge_names == two.edge_names
            for p, q in zip(one.edges, two.edges, strict=True):
                assert p.turns == q.turns
                if p.path is None:
                    assert np.abs(p.points - q.points).max() <= within
                # Each end of a chord moves by `within` at most, so a length by twice that;
                # rounding of the vertices between is random and adds little.
                assert abs(p.length - q.length) <= 3 * within + 1e-9
            assert {(m.name, m.edge, m.kind) for m in one.landmarks} == {
                (m.name, m.edge, m.kind) for m in two.landmarks
            }
            for mark in one.landmarks:
                assert math.dist(mark.point, two.landmark(mark.name).point) <= 2 * within + 1e-6
            assert [d.legs for d in one.darts] == [d.legs for d in two.darts]
            assert set(one.levels) == set(two.levels)
            for level, point in one.levels.items():
                assert math.dist(point, two.levels[level]) <= 2 * within
            for end in ("start", "end"):
                assert math.dist(getattr(one.grain, end), getattr(two.grain, end)) <= 2 * within
            assert [line.name for line in one.lines] == [line.name for line in two.lines]
            assert [drill.name for drill in one.drills] == [drill.name for drill in two.drills]
        assert a.info[name].fold == b.info[name].fold
        assert a.info[name].title == b.info[name].title
        assert (a.info[name].cut, a.info[name].pair) == (b.info[name].cut, b.info[name].pair)


@pytest.mark.parametrize(
    ("name", "one_file"),
    [*((n, True) for n in demo_names()), *((n, False) for n in part_of(demo_names(), 4))],
)
def test_demo_sets_come_back_digit_for_digit(tmp_path: Path, name: str, one_file: bool) -> None:
    pattern = demo(name)
    found = there_and_back(pattern, tmp_path, SvgWriting(one_file=one_file))
    assert_same(pattern, found, 0.0)
    assert not find_problems(found)
    for piece in pattern.pieces:
        for size in pattern.sizes:
            one, two = pattern.sized(piece, size), found.sized(piece, size)
            assert np.array_equal(one.outline, two.outline)
            assert set(one.landmarks) == set(two.landmarks)
            assert (one.grain, one.darts, one.lines, one.drills) == (
                two.grain,
                two.darts,
                two.lines,
                two.drills,
            )
            assert (one.levels, one.label) == (two.levels, two.label)


@pytest.mark.parametrize("decimals", [2, 3, 4])
def test_fewer_decimals_move_vertices_by_half_of_the_last(tmp_path: Path, decimals: int) -> None:
    pattern = demo("scoop_skirt")
    target = tmp_path / "out.svg"
    write_drawings(pattern, target, SvgWriting(decimals=decimals))
    found, _ = read_drawings([target], ReadOptions(base=pattern.base))
    assert_same(pattern, found, 0.5 * 10.0**-decimals * math.sqrt(2) + 1e-9)


def test_what_is_lost_is_listed(tmp_path: Path) -> None:
    pattern = demo("slant_trouser")
    report = write_drawings(pattern, tmp_path / "a.svg")
    lost = " | ".join(line.text for line in report.of("lost"))
    for word in ("6 seams", "1 opening", "chart", "allowances", "anchors", "base"):
        assert word in lost


def test_nothing_is_overwritten_unasked(tmp_path: Path) -> None:
    pattern = demo("scoop_skirt")
    write_drawings(pattern, tmp_path / "a.svg")
    before = (tmp_path / "a.svg").read_bytes()
    with pytest.raises(OutputError, match=r"a\.svg"):
        write_drawings(pattern, tmp_path / "a.svg")
    write_drawings(pattern, tmp_path / "a.svg", SvgWriting(replace=True))
    assert (tmp_path / "a.svg").read_bytes() == before


# ----------------------------------------------------------------------------- hypothesis

NAMES = st.text(
    st.characters(categories=("L", "N"), include_characters="_-&'()+"), min_size=1, max_size=8
)


@st.composite
def styles(draw: st.DrawFn) -> PatternSet:
    """A star-shaped piece with a few edges, in one to three sizes, anywhere."""
    count = draw(st.integers(3, 6))
    names = draw(
        st.lists(NAMES, min_size=count, max_size=count, unique_by=lambda text: text.casefold())
    )
    inner = draw(st.integers(0, 4))
    radii = draw(
        st.lists(st.floats(60, 140), min_size=count * (inner + 1), max_size=count * (inner + 1))
    )
    away = draw(st.tuples(st.floats(-5000, 5000), st.floats(-5000, 5000)))
    tilt = draw(st.floats(0, math.tau))
    sizes = ("36", "38", "40")[: draw(st.integers(1, 3))]
    nest = {}
    for number, size in enumerate(sizes):
        angles = tilt + np.arange(len(radii)) * math.tau / len(radii)
        grown = np.asarray(radii) * (1 + 0.05 * number)
        ring = np.round(
            np.column_stack([np.cos(angles), np.sin(angles)]) * grown[:, None] + away, 6
        )
        nest[size] = _piece(ring, names, inner)
    title = draw(st.text(max_size=12).filter(lambda t: t == t.strip() and t.isprintable()))
    info = PieceInfo(title or "piece", fold=draw(st.sampled_from([None, names[0]])))
    piece = draw(NAMES)
    return PatternSet("style", sizes, sizes[0], "hip", {piece: Piece(piece, nest)}, {piece: info})


def _piece(ring: np.ndarray, names: list[str], inner: int) -> SizedPiece:
    step = inner + 1
    twice = np.concatenate([ring, ring[:1]])
    edges = tuple(
        Edge(name, frozen_points(twice[i * step : (i + 1) * step + 1]), tuple(range(1, step, 2)))
        for i, name in enumerate(names)
    )
    middle = ring.mean(axis=0)
    first = edges[0].points
    on = (first[0] + first[1]) / 2

    def pair(point: np.ndarray) -> tuple[float, float]:
        return round(float(point[0]), 6), round(float(point[1]), 6)

    return SizedPiece(
        edges=edges,
        grain=Grain(pair(middle), pair(middle + np.array([3.0, 30.0]))),
        landmarks=(
            Landmark("here", names[0], pair(on), "notch"),
            Landmark("there", names[-1], pair(edges[-1].points[0]), "mark"),
        ),
        lines=(InternalLine("inside", frozen_points([middle, middle + 7.0])),),
        drills=(Mark("hole", pair(middle - 5.0)),),
        levels={"hip": pair(middle + 1.5)},
        label=Label(pair(middle), 12.5),
    )


@examples(20)
@given(pattern=styles())
def test_any_style_comes_back(pattern: PatternSet) -> None:
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "out.svg"
        write_drawings(pattern, target)
        found, _ = read_drawings([target], ReadOptions(base=pattern.base, sizes=pattern.sizes))
    assert_same(pattern, found, 1e-6)


@examples(10)
@given(
    angle=st.floats(-180, 180),
    scale=st.sampled_from([0.5, 2.0, 3.7795275590551185]),
    move=st.tuples(st.floats(-900, 900), st.floats(-900, 900)),
)
def test_a_turned_drawing_keeps_every_length(
    angle: float, scale: float, move: tuple[float, float]
) -> None:
    """The drawing put into a group that turns, moves and scales it, on a page that undoes that."""
    pattern = demo("scoop_skirt")
    pattern = replace(pattern, sizes=("M",), base="M")
    pattern = replace(
        pattern,
        pieces={n: Piece(n, {"M": p.at("M")}) for n, p in pattern.pieces.items()},
    )
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "out.svg"
        write_drawings(pattern, target)
        text = target.read_text(encoding="utf-8")
        head, body = text.split("</desc>")
        width = 1000 / scale
        page = (
            '<svg xmlns="http://www.w3.org/2000/svg" width="1000mm" height="1000mm" '
            f'viewBox="0 0 {width * scale * scale} {width * scale * scale}">'
        )
        turned = f'<g transform="translate({move[0]} {move[1]}) rotate({angle}) scale({scale})">'
        target.write_text(page + turned + body.replace("</svg>", "</g></svg>"), encoding="utf-8")
        found, _ = read_drawings([target], ReadOptions(base="M"))
    assert head
    for name, piece in pattern.pieces.items():
        for one, two in zip(piece.at("M").edges, found.sized(name, "M").edges, strict=True):
            assert one.name == two.name
            assert abs(one.length - two.length) < 1e-3
