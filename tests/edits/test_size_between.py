"""Sizes between those of a nest: closed forms, the chart, and how they sew.

Lengths and girths are measured by the means of `tests.engine.measure` (numpy and shapely on
bare points).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate import Blend, BlendLevels, EditError, PatternSet, blend, load_result, run, save, walk
from propagate.engine.edits.size_between import with_between_size, with_sizes_asked
from propagate.engine.revised import merged_sizes
from propagate.engine.run import settle
from propagate.io.geometry_json import dump_piece
from propagate.pattern.between import BetweenSize, size_asked
from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Dart,
    Edge,
    InternalLine,
    Label,
    Landmark,
    Mark,
    Piece,
    SizedPiece,
)
from propagate.pattern.relations import PieceInfo
from propagate.pattern.validate import find_problems
from tests.engine import measure
from tests.examples import examples
from tests.shared import demo

SETS = ("slant_trouser", "scoop_skirt", "workshop_gilet")
SEAM_MM, BAND_MM, GIRTH_MM, CHART_MM = 0.05, 0.05, 0.1, 0.3


# -------------------------------------------------------------------- closed forms


def trapezoid(step: float, turn: float) -> SizedPiece:
    """A piece all of whose measures grow evenly, in a frame that lies as it likes."""
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])

    def at(x: float, y: float) -> tuple[float, float]:
        px, py = spin @ (x, y) + (300.0 * turn, -70.0 * step)
        return (float(px), float(py))

    width, top, height = 200.0 + 20.0 * step, 160.0 + 12.0 * step, 300.0 + 6.0 * step
    corners = [at(0, 0), at(width, 0), at(top, height), at(0, height)]
    names = ("hem", "side", "waist", "centre")
    ends = zip(names, corners, [*corners[1:], corners[0]], strict=True)
    legs = (top * 0.5 + 8.0 + step, top * 0.5 - 8.0 - step)
    return SizedPiece(
        edges=tuple(Edge(name, np.array([a, b])) for name, a, b in ends),
        grain=Grain(at(20, 40), at(20, 240)),
        landmarks=(
            Landmark("leg_1", "waist", at(legs[0], height), "dart leg"),
            Landmark("leg_2", "waist", at(legs[1], height), "dart leg"),
            Landmark("notch", "side", at((width + top) / 2, height / 2), "notch"),
        ),
        darts=(Dart("dart", "waist", ("leg_1", "leg_2"), at(top * 0.5, height - 90.0 - step)),),
        lines=(InternalLine("fold", np.array([at(10, 30 + step), at(width - 40, 30 + step)])),),
        drills=(Mark("drill", at(60 + step, 120)),),
        levels={"hip": at(0, 100 + 2 * step)},
        label=Label(at(80, 80), float(np.degrees(turn))),
    )


def even_nest(turns: tuple[float, ...]) -> PatternSet:
    sizes = tuple(str(36 + 2 * i) for i in range(len(turns)))
    nest = {
        size: trapezoid(i, turn) for i, (size, turn) in enumerate(zip(sizes, turns, strict=True))
    }
    return PatternSet(
        name="even",
        sizes=sizes,
        base="38",
        lay_on="hip",
        pieces={"front": Piece("front", nest)},
        info={"front": PieceInfo("Front")},
        chart={"waist": {size: 600.0 + 40.0 * i for i, size in enumerate(sizes)}},
    )


def points_on(piece: SizedPiece) -> np.ndarray:
    """Every point that is drawn on a piece, in order."""
    return np.vstack(
        [
            *(edge.points for edge in piece.edges),
            *(mark.point for mark in piece.landmarks),
            *(dart.tip for dart in piece.darts),
            *(line.points for line in piece.lines),
            *(mark.point for mark in piece.drills),
            *piece.levels.values(),
            piece.grain.start,
            piece.grain.end,
            piece.label.point,
        ]
    )


@given(
    value=st.floats(34.0, 44.0),
    turns=st.lists(st.floats(-3.0, 3.0), min_size=4, max_size=4),
)
@examples(30)
def test_an_even_nest_lies_where_its_formula_says(value: float, turns: list[float]) -> None:
    """All distances between points are those of the formula, however the sizes were turned."""
    value = round(value, 2)
    source = even_nest(tuple(turns))
    found, called, _ = with_sizes_asked(source, [f"{value:g}"])
    size = called[f"{value:g}"]
    piece = found.sized("front", size)
    expected = points_on(trapezoid((value - 36.0) / 2.0, 0.0))
    got = points_on(piece)
    assert got.shape == expected.shape
    motion = measure.registration(got, expected)
    assert np.abs(motion(got) - expected).max() < 2e-5  # rounded to a nanometre, grain and all
    assert abs(found.chart["waist"][size] - (600.0 + 20.0 * (value - 36.0))) < 1e-9
    assert not find_problems(found)
    for name in source.sizes:
        assert found.sized("front", name) is source.sized("front", name)
    grain = piece.grain.direction
    label = np.radians(piece.label.angle)
    lies = np.degrees(np.arctan2(grain[1], grain[0]) - np.pi / 2 - label)
    assert abs((lies + 180.0) % 360.0 - 180.0) < 1e-3  # the label goes with the grain


def test_the_order_of_the_sizes_is_that_of_the_nest() -> None:
    source = even_nest((0.0, 0.0, 0.0, 0.0))
    asked = ["41", "34.5", "40.5", "43", "38", "36+0.25"]
    found, called, made = with_sizes_asked(source, asked)
    assert found.sizes == ("34.5", "36", "36.5", "38", "40", "40.5", "41", "42", "43")
    assert called["36+0.25"] == "36.5"
    assert called["38"] == "38"
    assert len(made) == 5
    again = with_sizes_asked(source, reversed(asked))[0]
    assert again.sizes == found.sizes
    assert all(
        again.sized("front", size) == found.sized("front", size) for size in found.sizes
    )  # made of what was drawn, in whatever order


def test_what_only_one_neighbour_has_is_left_out() -> None:
    source = even_nest((0.0, 0.0))
    bare = replace(source.sized("front", "38"), lines=(), drills=())
    front = Piece("front", {**source.pieces["front"].nest, "38": bare})
    found = with_between_size(replace(source, pieces={"front": front}), "37").sized("front", "37")
    assert (found.lines, found.drills) == ((), ())


def test_an_outline_that_would_cross_itself_is_refused() -> None:
    """A waist of 20 mm beside one of 160: a step further it would lie beyond the centre."""
    source = even_nest((0.0, 0.0))
    old = source.sized("front", "36")
    side, waist = old.edge("side").points, old.edge("waist").points
    tip = waist[1] + (20.0, 0.0)
    lines = {"side": [side[0], tip], "waist": [tip, waist[1]]}
    edges = {name: Edge(name, np.array(line)) for name, line in lines.items()}
    thin = replace(
        old, edges=tuple(edges.get(e.name, e) for e in old.edges), landmarks=(), darts=()
    )
    wide = replace(source.sized("front", "38"), landmarks=(), darts=())
    front = Piece("front", {"36": thin, "38": wide})
    with pytest.raises(EditError, match="cross itself"):
        with_between_size(replace(source, pieces={"front": front}), "34")


# ------------------------------------------------------------------------ at a size


@pytest.mark.parametrize("name", SETS)
def test_at_a_size_the_set_is_the_set(name: str) -> None:
    source = demo(name)
    for i, size in enumerate(source.sizes):
        assert with_between_size(source, size) is source
        if i:
            assert with_between_size(source, f"{source.sizes[i - 1]}+1") is source


def test_a_blend_asked_for_by_shares_is_the_blend_byte_for_byte() -> None:
    source = demo("slant_trouser")
    plain = blend(source, Blend({"waist": "42", "hip": "46"}))
    asked = blend(source, Blend({"waist": "40+1", "hip": "46.0"}))
    assert asked.record.edit == plain.record.edit
    for name in source.pieces:
        assert dump_piece(asked.pattern.pieces[name]) == dump_piece(plain.pattern.pieces[name])


# --------------------------------------------------------------------- the demo sets


def asked_of(source: PatternSet, place: float) -> BetweenSize | str:
    at = min(int(place), len(source.sizes) - 2)
    return size_asked(source.sizes, f"{source.sizes[at]}+{place - at:.3f}", "")


def shared_between(size: BetweenSize, first: float, second: float) -> float:
    return (1.0 - size.share) * first + size.share * second


@pytest.mark.parametrize("name", [*SETS, "lined_skirt", "ferry_shirt"])
@given(part=st.floats(0.0, 1.0))
@examples(5, deadline=None)
def test_a_size_between_lies_on_the_chart_line_and_sews(name: str, part: float) -> None:
    source = demo(name)
    size = asked_of(source, part * (len(source.sizes) - 1))
    if isinstance(size, str):
        return
    found = with_between_size(source, size.name)
    for girth in source.relations.girths.values():
        a, b, here = (
            measure.girth(found, girth, one) for one in (size.first, size.second, size.name)
        )
        assert abs(here - shared_between(size, a, b)) < GIRTH_MM
        if girth.chart is not None:
            row = source.chart[girth.chart]
            body = shared_between(size, row[size.first], row[size.second])
            ease = shared_between(size, a - row[size.first], b - row[size.second])
            assert abs(here - body - ease) < CHART_MM
    for seam in source.relations.seams.values():
        if seam.mirror or seam.ease != 0.0:
            continue
        apart = {
            one: measure.run_length(found, one, seam.follow)
            - measure.run_length(found, one, seam.lead)
            for one in (size.first, size.second, size.name)
        }
        drawn = max(abs(apart[size.first]), abs(apart[size.second]))
        assert abs(apart[size.name]) < drawn + SEAM_MM, seam.name
    walked = walk(found, size.name, cut_lines=False)
    assert walked.sews
    assert all(abs(check.difference) < BAND_MM for check in walked.of("band"))
    assert not find_problems(found)
    (made,) = with_sizes_asked(source, [size.name])[2]
    settled = merged_sizes(found, {size.name: settle(found, size.name)})
    for piece in found.pieces if made.settled_mm else ():  # twice is once
        assert settled.sized(piece, size.name) == found.sized(piece, size.name)


@pytest.mark.parametrize("name", SETS)
@given(parts=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)))
@examples(3, deadline=None)
def test_a_blend_of_two_sizes_between_sews(name: str, parts: tuple[float, float]) -> None:
    """At most two steps apart: how far a blend reaches is not what is tried here."""
    source = demo(name)
    plan = source.relations.blend
    last = len(source.sizes) - 1
    first = parts[0] * last
    second = min(max(first + 4.0 * (parts[1] - 0.5), 0.0), last)
    names = [
        size if isinstance(size, str) else size.name
        for size in (asked_of(source, first), asked_of(source, second))
    ]
    found, _, _ = with_sizes_asked(source, names)
    result = blend(source, Blend({plan.upper: names[0], plan.lower: names[1]}))
    assert result.sews
    column, size = result.pattern, result.record.size
    for row in result.record.girths:
        girth = source.relations.girths[row.girth]
        assert row.size in names
        wanted = measure.girth(found, girth, row.size)
        assert abs(measure.girth(column, girth, size) - wanted) < GIRTH_MM
    for opening in source.relations.openings.values():
        was = found.sized(opening.piece, names[0]).edge(opening.edge).points
        now = column.sized(opening.piece, size).edge(opening.edge).points
        lengths = [measure.polyline_length(points) for points in (was, now)]
        assert abs(lengths[0] - lengths[1]) < 0.01
    assert not find_problems(column)


# ------------------------------------------------------------------- beyond the nest


@pytest.mark.parametrize(
    ("name", "size", "end"),
    [
        ("slant_trouser", "54", "52"),
        ("slant_trouser", "35", "36"),
        ("scoop_skirt", "XS-1", "XS"),
        ("scoop_skirt", "3XL+0.5", "3XL"),
        ("workshop_gilet", "126", "118"),
    ],
)
def test_a_step_beyond_the_nest_sews_and_is_warned_of(name: str, size: str, end: str) -> None:
    source = demo(name)
    plan = source.relations.blend
    found = with_between_size(source, size)
    between = size_asked(source.sizes, size, "")
    assert walk(found, size, cut_lines=False).sews
    for girth in source.relations.girths.values():
        a, b, here = (
            measure.girth(found, girth, one) for one in (between.first, between.second, size)
        )
        assert abs(here - shared_between(between, a, b)) < CHART_MM
    result = blend(source, Blend({plan.upper: size, plan.lower: end}))
    assert result.sews
    (told,) = (n.text for n in result.record.warnings if n.where == f"size {size}")
    assert "nobody drew it" in told
    assert f"beyond {end}" in told


def test_a_zip_takes_a_length_on_offer_and_darts_stay_darts() -> None:
    """Size 12 has a zip of 180 mm, 14 one of 200: none of 190 is sold; a leg is a corner."""
    source = demo("lined_skirt")
    for size in ("13", "19", "21", "22"):
        found = with_between_size(source, size)
        walked = walk(found, size, cut_lines=False)
        assert walked.sews
        (zip_check,) = (c for c in walked.of("seam_opening") if c.name == "zip")
        assert abs(zip_check.second - zip_check.first) < 0.01
        between = size_asked(source.sizes, size, "")
        lengths = [
            found.sized("back", one).edge("waist").length
            for one in (between.first, between.second, size)
        ]
        assert abs(lengths[2] - shared_between(between, lengths[0], lengths[1])) < 0.1


def test_further_beyond_is_refused_and_nothing_is_drawn() -> None:
    with pytest.raises(EditError, match="the nearest that can be is '54'"):
        blend(demo("slant_trouser"), Blend({"waist": "50", "hip": "55"}))


# ------------------------------------------------------------------------- telling it


def test_one_size_for_everything_is_that_size_and_says_how_it_sews(tmp_path) -> None:
    source = demo("slant_trouser")
    result = blend(source, Blend({"waist": "43.5", "hip": "43.5"}))
    found = with_between_size(source, "43.5")
    for name in source.pieces:
        assert result.pattern.sized(name, "43.5") == found.sized(name, "43.5")
    record = result.record
    assert record.edit["between"] == {
        "43.5": {"first": "42", "second": "44", "share": 0.75, "settled_mm": 0.0}
    }
    assert "43.5 lies between 42 and 44, 0.75 of the way" in record.changes[0].what
    assert {row.girth for row in record.girths} == {"waist", "hip"}
    assert record.seams
    assert all(row.verdict == "sews" for row in record.seams)
    assert not record.warnings
    save(result, tmp_path / "out")
    again = load_result(tmp_path / "out")
    assert again.pattern.sizes == ("43.5",)
    assert again.record.options.between == record.options.between


def test_a_blend_of_drawn_sizes_says_nothing_of_sizes_between() -> None:
    assert (
        "between"
        not in blend(demo("slant_trouser"), Blend({"waist": "42", "hip": "44"})).record.edit
    )


def test_a_blend_by_level_alone_tells_of_sizes_between_too() -> None:
    source = demo("workshop_gilet")
    bare = replace(source, relations=replace(source.relations, blend=None))
    result = run(bare, BlendLevels({"chest": "99", "waist": "120", "hip": "99"}))
    assert result.sews
    rows = result.record.edit["between"]
    assert {name: (row["first"], row["second"], row["share"]) for name, row in rows.items()} == {
        "99": ("96", "102", 0.5),
        "120": ("110", "118", 1.25),
    }
    assert [n.where for n in result.record.warnings if "nobody drew it" in n.text] == ["size 120"]
