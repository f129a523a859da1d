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
from propagate.geometry.polyline import point_at, split
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Assembly, AssemblyPart, Span, parse_run
from propagate.pattern.validate import problems
from tests.shared import demo

DEEP = {"side": 40.0, "centre": 65.0}
"""mm below the waist at which the yoke's line meets side and centre."""


def plain_back(piece: SizedPiece) -> SizedPiece:
    """Without dart and welt, which would be cut by the yoke's line."""
    legs = {leg for dart in piece.darts for leg in dart.legs}
    marks = tuple(m for m in piece.landmarks if m.name not in legs and m.edge != "waist")
    return replace(piece, darts=(), lines=(), drills=(), landmarks=marks)


def one_piece() -> PatternSet:
    pattern = demo("slant_trouser")
    nest = {size: plain_back(piece) for size, piece in pattern.pieces["back"].nest.items()}
    relations = pattern.relations
    seams = {k: v for k, v in relations.seams.items() if k != "centre_back"}
    mains = tuple(replace(m, across_hold=None) for m in relations.blend.mains)
    relations = replace(relations, seams=seams, blend=replace(relations.blend, mains=mains))
    return replace(
        pattern, pieces={**pattern.pieces, "back": Piece("back", nest)}, relations=relations
    )


def cut_apart(piece: SizedPiece) -> tuple[SizedPiece, SizedPiece]:
    """Back and yoke: cut along a straight line from the side to the centre, in one frame."""
    names = piece.edge_names
    i = names.index("waist")
    order = [piece.edges[(i + k) % len(names)] for k in range(len(names))]
    waist, after, *rest, before = order
    assert {after.name, before.name} == {"side", "centre"}
    down = split(after.points, DEEP[after.name])
    up = split(before.points, before.length - DEEP[before.name])
    line = np.array([down[0][-1], up[1][0]])
    yoke = SizedPiece(
        (waist, Edge(after.name, down[0]), Edge("lower", line), Edge(before.name, up[1])),
        piece.grain,
    )
    marks = tuple(m for m in piece.landmarks if m.edge != "waist")
    back = replace(
        piece,
        edges=(
            Edge("top", line[::-1]),
            Edge(after.name, down[1]),
            *rest,
            Edge(before.name, up[0]),
        ),
        landmarks=(*marks, Landmark("yoke_notch", "top", tuple(line.mean(axis=0)), "notch")),
    )
    return back, yoke


def with_yoke() -> PatternSet:
    pattern = one_piece()
    parts = {size: cut_apart(p) for size, p in pattern.pieces["back"].nest.items()}
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
    assert problems(made) == ()
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
