"""A back cut in back and yoke is edited as a whole and cut apart again.

The judge is a redraft: the same trousers with the back in one piece, blended, whose back is
then cut along the same line.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate import Amount, Raise, TakeIn
from propagate.geometry.polyline import point_at, split
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Assembly, AssemblyPart, Span, parse_run
from propagate.pattern.validate import find_problems
from tests.shared import demo, without_welts

DEEP = {"side": 40.0, "centre": 65.0}
"""mm below the waist at which the yoke's line meets side and centre."""


def plain_back(piece: SizedPiece) -> SizedPiece:
    """Without dart and welt, which would be cut by the yoke's line."""
    legs = {leg for dart in piece.darts for leg in dart.legs}
    marks = tuple(m for m in piece.landmarks if m.name not in legs and m.edge != "waist")
    return replace(piece, darts=(), lines=(), drills=(), landmarks=marks)


def one_piece() -> PatternSet:
    pattern = without_welts(demo("slant_trouser"))  # it lies where the dart ends
    nest = {size: plain_back(piece) for size, piece in pattern.pieces["back"].nest.items()}
    relations = pattern.relations
    seams = {k: v for k, v in relations.seams.items() if k != "centre_back"}
    mains = tuple(replace(m, across_hold=None) for m in relations.blend.mains)
    relations = replace(relations, seams=seams, blend=replace(relations.blend, mains=mains))
    pieces = {**pattern.pieces, "back": Piece("back", nest)}
    return replace(pattern, pieces=pieces, relations=relations)


def bowed(line: np.ndarray, by: float) -> np.ndarray:
    """A straight line bowed to its left, a parabola of 40 chords."""
    if not by:
        return line
    t = np.linspace(0.0, 1.0, 41)[:, None]
    along = line[1] - line[0]
    square = np.array([-along[1], along[0]]) / np.hypot(*along)
    points = line[0] + t * along + 4.0 * t * (1.0 - t) * by * square
    points[[0, -1]] = line
    return np.asarray(points)


def cut_apart(piece: SizedPiece, bow: float) -> tuple[SizedPiece, SizedPiece]:
    """Back and yoke: cut along a line from the side to the centre, in one frame.

    With a bow, the two lie over each other in the middle, as where a dart is closed in the yoke.
    """
    names = piece.edge_names
    i = names.index("waist")
    order = [piece.edges[(i + k) % len(names)] for k in range(len(names))]
    waist, after, *rest, before = order
    assert {after.name, before.name} == {"side", "centre"}
    down = split(after.points, DEEP[after.name])
    up = split(before.points, before.length - DEEP[before.name])
    line = np.array([down[0][-1], up[1][0]])
    yoke = SizedPiece(
        (
            waist,
            Edge(after.name, down[0]),
            Edge("lower", bowed(line, -bow)),
            Edge(before.name, up[1]),
        ),
        piece.grain,
    )
    marks = tuple(m for m in piece.landmarks if m.edge != "waist")
    top = bowed(line[::-1], -bow)
    middle = tuple(top.mean(axis=0)) if len(top) == 2 else tuple(top[20])
    back = replace(
        piece,
        edges=(
            Edge("top", top),
            Edge(after.name, down[1]),
            *rest,
            Edge(before.name, up[0]),
        ),
        landmarks=(*marks, Landmark("yoke_notch", "top", middle, "notch")),
    )
    return back, yoke


def with_yoke(bow: float = 0.0) -> PatternSet:
    pattern = one_piece()
    parts = {size: cut_apart(p, bow) for size, p in pattern.pieces["back"].nest.items()}
    after = next(iter(parts.values()))[1].edge_names[1]
    before = "centre" if after == "side" else "side"

    def run(spans: tuple[Span, ...]) -> tuple[Span, ...]:
        found: list[Span] = []
        for span in spans:
            if span.piece != "back" or span.edge not in ("waist", "side", "centre"):
                found.append(span)
                continue
            yoke = replace(span, piece="yoke")
            if span.edge == "waist":
                found.append(yoke)
                continue
            forward = (span.begin, span.end) == ("start", "end")
            first_yoke = (span.edge == after) == forward
            found += [yoke, span] if first_yoke else [span, yoke]
        return tuple(found)

    relations = pattern.relations
    seams = {
        s.name: replace(
            s,
            lead=run(s.lead),
            follow=run(s.follow),
            crossing={
                end: tuple(k.replace("back.waist", "yoke.waist") for k in pair)
                for end, pair in s.crossing.items()
            },
        )
        for s in relations.seams.values()
    }
    bands = {
        b.name: replace(b, zones=tuple(replace(z, run=run(z.run)) for z in b.zones))
        for b in relations.bands.values()
    }
    girths = {
        g.name: replace(
            g,
            runs=tuple(run(r) for r in g.runs),
            silhouettes=tuple("full_back" if s == "back" else s for s in g.silhouettes),
        )
        for g in relations.girths.values()
    }
    put = (("lower.start", "top.end"), ("lower.end", "top.start"))
    edges = {
        "waist": parse_run("yoke.waist"),
        after: parse_run([f"yoke.{after}", f"back.{after}"]),
        **{
            e.name: parse_run(f"back.{e.name}")
            for e in next(iter(parts.values()))[0].edges
            if e.name not in ("top", after, before)
        },
        before: parse_run([f"back.{before}", f"yoke.{before}"]),
    }
    full = Assembly("full_back", "back", (AssemblyPart("yoke", put),), edges)
    mains = tuple(
        replace(m, silhouette="full_back") if m.silhouette == "back" else m
        for m in relations.blend.mains
    )
    made = replace(
        pattern,
        pieces={
            **pattern.pieces,
            "back": Piece("back", {s: p[0] for s, p in parts.items()}),
            "yoke": Piece("yoke", {s: p[1] for s, p in parts.items()}),
        },
        info={
            **pattern.info,
            "yoke": replace(pattern.info["back"], allowance=pattern.info["facing"].allowance),
        },
        relations=replace(
            relations,
            seams=seams,
            bands=bands,
            girths=girths,
            assemblies={**relations.assemblies, "full_back": full},
            blend=replace(relations.blend, mains=mains),
        ),
    )
    info = dict(made.info)
    info["back"] = replace(info["back"], allowance=replace(info["back"].allowance, corners={}))
    info["yoke"] = replace(
        info["yoke"],
        allowance=replace(info["yoke"].allowance, edges={}, turned=frozenset(), corners={}),
    )
    made = replace(made, info=info)
    assert find_problems(made) == ()
    return made


@pytest.mark.parametrize(
    ("upper", "lower"), [("42", "44"), ("44", "42"), ("42", "48"), ("50", "44")]
)
def test_a_yoke_is_cut_apart_as_a_redraft_would_be(upper: str, lower: str) -> None:
    edit = propagate.Blend({"waist": upper, "hip": lower})
    whole = propagate.blend(one_piece(), edit)
    apart = propagate.blend(with_yoke(), edit)
    assert apart.sews
    size = whole.pattern.base
    back, yoke = (apart.pattern.sized(n, size) for n in ("back", "yoke"))
    drawn = shapely.Polygon(whole.pattern.sized("back", size).outline)
    both = shapely.union_all([shapely.Polygon(p.outline).buffer(1e-4) for p in (back, yoke)])
    assert drawn.symmetric_difference(both).area < 3.0
    # The two sides of the yoke's seam are one line, and it is as deep as in the waist's size.
    line, top = yoke.edge("lower").points, back.edge("top").points
    assert np.abs(line - top[::-1]).max() < 1e-6
    assert yoke.edge("side").length == pytest.approx(DEEP["side"], abs=0.01)
    assert yoke.edge("centre").length == pytest.approx(DEEP["centre"], abs=0.2)
    middle = point_at(top, back.edge("top").length / 2)
    assert back.landmark("yoke_notch").point == pytest.approx(tuple(middle), abs=1e-3)
    # The waist girth is that of the size asked for, and every other piece is the same.
    for name in whole.pattern.pieces:
        if name != "back":
            assert whole.pattern.sized(name, size) == apart.pattern.sized(name, size), name
    for row in apart.record.girths:
        assert row.ok, row


def test_a_yoke_blended_with_itself_keeps_every_digit() -> None:
    pattern = with_yoke()
    result = propagate.blend(pattern, propagate.Blend({"waist": "42", "hip": "42"}))
    for name in pattern.pieces:
        assert result.pattern.sized(name, "42") == pattern.sized(name, "42")


@pytest.mark.parametrize(("upper", "lower"), [("36", "52"), ("52", "36"), ("42", "44")])
def test_a_seam_that_bows_to_both_sides_stays_as_long_on_both(upper: str, lower: str) -> None:
    """Mirror images stay mirror images: both are turned and stretched alike."""
    result = propagate.blend(with_yoke(3.5), propagate.Blend({"waist": upper, "hip": lower}))
    size = result.pattern.base
    top = result.pattern.sized("back", size).edge("top").points
    lower_edge = result.pattern.sized("yoke", size).edge("lower").points
    assert shapely.LineString(top).length == pytest.approx(
        shapely.LineString(lower_edge).length, abs=1e-6
    )
    # The bow is that of the size that gave the line, in proportion to the chord.
    chord = np.hypot(*(top[-1] - top[0]))
    drawn = with_yoke(3.5).sized("back", upper).edge("top").points
    was = np.hypot(*(drawn[-1] - drawn[0]))
    depth = shapely.LineString(top[[0, -1]]).distance(shapely.Point(top[20]))
    assert depth == pytest.approx(3.5 * chord / was, abs=1e-6)


def run_of(pattern: PatternSet, run: tuple[Span, ...], size: str) -> float:
    """Length of a run of whole edges and of parts from or to a landmark, by shapely."""
    total = 0.0
    for span in run:
        piece = pattern.sized(span.piece, size)
        line = shapely.LineString(piece.edge(span.edge).points)
        ends = []
        for name in (span.begin, span.end):
            mark = f"{span.edge}.{name}" if name in ("start", "end") else name
            ends.append(line.project(shapely.Point(piece.landmark(mark).point)))
        total += abs(ends[0] - ends[1])
    return total


@pytest.mark.parametrize("both", [True, False])
def test_a_side_that_runs_over_the_yoke_is_taken_in_and_sews(both: bool) -> None:
    pattern = with_yoke(3.5)
    edit = TakeIn(edge="full_front.side", by=Amount(mm=10.0), at="waist", to=("hip",), both=both)
    result = propagate.run(pattern, edit, corners="left")
    assert result.sews
    size = result.pattern.base
    seam = result.pattern.relations.seams["side_seam"]
    lead, follow = (run_of(result.pattern, run, size) for run in (seam.lead, seam.follow))
    assert lead == pytest.approx(follow, abs=0.05)
    assert not any(notice.where == "side_seam" for notice in result.record.warnings)
    # The waist of the yoke gives what was asked; the yoke stays as deep at the side, but for
    # what the side's length takes.
    before, after = (p.sized("yoke", size) for p in (pattern, result.pattern))
    gone = before.edge("waist").length - after.edge("waist").length
    assert gone == pytest.approx(10.0 if both else 0.0, abs=0.25)
    assert after.edge("side").length == pytest.approx(DEEP["side"], abs=1.0)
    below = result.pattern.sized("back", size)
    assert below.edge("hem") == pattern.sized("back", size).edge("hem")
    assert below.edge("centre") == pattern.sized("back", size).edge("centre")


def tilted(pattern: PatternSet, piece: str, angle: float) -> PatternSet:
    """A piece in a frame of its own, in coordinates of four decimals as files have them."""
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[c, s], [-s, c]])

    def put(points: object) -> np.ndarray:
        return np.asarray(np.round(np.asarray(points, dtype=float) @ turn + [31.0, -7.0], 4))

    nest = {}
    for size, one in pattern.pieces[piece].nest.items():
        grain = put([one.grain.start, one.grain.end])
        nest[size] = replace(
            one,
            edges=tuple(replace(e, points=put(e.points), path=None) for e in one.edges),
            landmarks=tuple(replace(m, point=tuple(put(m.point))) for m in one.landmarks),
            grain=replace(one.grain, start=tuple(grain[0]), end=tuple(grain[1])),
            levels={k: tuple(put(v)) for k, v in one.levels.items()},
            label=None,
        )
    return replace(pattern, pieces={**pattern.pieces, piece: Piece(piece, nest)})


def test_what_an_edit_of_the_yoke_does_not_reach_keeps_its_digits() -> None:
    """Also where the yoke, drawn to the last decimal, misses its joint by some 0.1 µm."""
    pattern = tilted(with_yoke(3.5), "yoke", 0.3)
    names = pattern.sized("yoke", pattern.base).edge_names
    at_centre = "start" if names[names.index("waist") - 1] == "centre" else "end"
    other = "end" if at_centre == "start" else "start"
    edit = Raise(edge="full_back.waist", by=Amount(mm=12.0), at=at_centre, to=(other,))
    result = propagate.run(pattern, edit)
    assert result.sews
    for size in (result.pattern.base,):
        before, after = (p.sized("yoke", size) for p in (pattern, result.pattern))
        assert result.pattern.sized("back", size) == pattern.sized("back", size)
        for edge in ("side", "lower"):
            assert after.edge(edge) == before.edge(edge)
        grown = after.edge("centre").length - before.edge("centre").length
        assert grown == pytest.approx(12.0, abs=1e-3)


def test_a_revised_yoke_that_follows_alone_is_told_of() -> None:
    """Its side is only a part of the run that follows the front's."""
    pattern = with_yoke(3.5)
    nest = {}
    for size, piece in pattern.pieces["yoke"].nest.items():
        side = piece.edge("side").points
        t = np.linspace(0.0, 1.0, len(side))[:, None]
        along = side[-1] - side[0]
        out = np.array([along[1], -along[0]]) / np.hypot(*along)
        moved = side + 4.0 * t * (1.0 - t) * 3.0 * out
        moved[[0, -1]] = side[[0, -1]]
        edges = (replace(e, points=moved) if e.name == "side" else e for e in piece.edges)
        nest[size] = replace(piece, edges=tuple(edges))
    result = propagate.revise(pattern, {"yoke": Piece("yoke", nest)})
    for size, record in result.records.items():
        seam = pattern.relations.seams["side_seam"]
        lead, follow = (run_of(result.pattern, run, size) for run in (seam.lead, seam.follow))
        assert follow - lead > 0.2
        said = [notice.text for notice in record.warnings if notice.where == "side_seam"]
        assert any(f"off by {follow - lead:+.2f} mm" in text for text in said), said
