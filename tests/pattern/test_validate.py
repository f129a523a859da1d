"""Every way to break a set is named with its place, what was found and what was expected."""

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.io.folder import load
from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Dart,
    Edge,
    Landmark,
    Mark,
    Piece,
    SizedPiece,
    frozen_points,
)
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import (
    Allowance,
    Assembly,
    AssemblyPart,
    Girth,
    LegPlan,
    PieceInfo,
    Seam,
    Zone,
    parse_run,
)
from propagate.pattern.validate import find_problems
from tests.builders import (
    HEM_Y,
    HIP,
    HIP_Y,
    SIZES,
    edge,
    pocket_set,
    tiny_set,
    with_edge,
    with_sized,
)
from tests.effort import calls_of
from tests.examples import examples

DEMOS = sorted((Path(__file__).parents[2] / "demo_sets").glob("*/set.toml"))
Change = Callable[[PatternSet], PatternSet]


# ------------------------------------------------------------------------ ways to break


def points_of(piece: str, size: str, name: str, change: Callable[..., object]) -> Change:
    """Change the list of points of one edge."""

    def harm(pattern: PatternSet) -> PatternSet:
        points = pattern.sized(piece, size).edge(name).points.tolist()
        return with_edge(pattern, piece, size, name, change(points))

    return harm


def sized(piece: str, size: str | None, **changes: object) -> Change:
    """Replace fields of a piece in one size, or in all; a function gets the sized piece."""

    def harm(pattern: PatternSet) -> PatternSet:
        for each in [size] if size else pattern.sizes:
            old = pattern.sized(piece, each)
            new = {k: v(old) if callable(v) else v for k, v in changes.items()}
            pattern = with_sized(pattern, piece, each, replace(old, **new))  # type: ignore[arg-type]
        return pattern

    return harm


def scaled(factor: float, *, body: float = 1.0, bare: bool = False) -> Change:
    """Write all geometry in another unit."""

    def move(s: SizedPiece) -> SizedPiece:
        return moved(s, lambda p: p * factor)

    def harm(pattern: PatternSet) -> PatternSet:
        pieces = {
            n: Piece(n, {z: move(s) for z, s in p.nest.items()}) for n, p in pattern.pieces.items()
        }
        chart = {r: {s: v * body for s, v in row.items()} for r, row in pattern.chart.items()}
        info = {name: replace(info, allowance=Allowance()) for name, info in pattern.info.items()}
        changed = replace(pattern, pieces=pieces, chart=chart, info=info)
        if bare:
            changed = replace(changed, relations=Relations(), chart={})
        return changed

    return harm


def moved(s: SizedPiece, f: Callable[[np.ndarray], np.ndarray]) -> SizedPiece:
    """A sized piece with every point put through a function of (n, 2) points."""

    def one(p: tuple[float, float]) -> tuple[float, float]:
        x, y = f(np.array([p]))[0].tolist()
        return x, y

    return replace(
        s,
        edges=tuple(Edge(e.name, frozen_points(f(e.points)), e.turns) for e in s.edges),
        landmarks=tuple(replace(m, point=one(m.point)) for m in s.landmarks),
        grain=Grain(one(s.grain.start), one(s.grain.end)),
        levels={name: one(p) for name, p in s.levels.items()},
        drills=tuple(replace(m, point=one(m.point)) for m in s.drills),
    )


def of_set(**changes: object) -> Change:
    return lambda p: replace(p, **{k: v(p) if callable(v) else v for k, v in changes.items()})  # type: ignore[arg-type]


def info(piece: str, **changes: object) -> Change:
    return lambda p: replace(
        p,
        info={**p.info, piece: replace(p.info[piece], **changes)},  # type: ignore[arg-type]
    )


def relation(kind: str, name: str, **changes: object) -> Change:
    """Replace fields of one relation."""

    def harm(pattern: PatternSet) -> PatternSet:
        known = getattr(pattern.relations, kind)
        new = {**known, name: replace(known[name], **changes)}
        return replace(pattern, relations=replace(pattern.relations, **{kind: new}))

    return harm


def blend(main: dict[str, object] | None = None, **changes: object) -> Change:
    def harm(pattern: PatternSet) -> PatternSet:
        plan = pattern.relations.blend
        assert plan is not None
        first, *rest = plan.mains
        plan = replace(plan, mains=(replace(first, **(main or {})), *rest), **changes)  # type: ignore[arg-type]
        return replace(pattern, relations=replace(pattern.relations, blend=plan))

    return harm


def more_seams(*seams: Seam) -> Change:
    def harm(pattern: PatternSet) -> PatternSet:
        known = {**pattern.relations.seams, **{s.name: s for s in seams}}
        return replace(pattern, relations=replace(pattern.relations, seams=known))

    return harm


def seam(name: str, lead: str, follow: str, **changes: object) -> Seam:
    return Seam(name, parse_run(lead), parse_run(follow), **changes)  # type: ignore[arg-type]


def both(*changes: Change) -> Change:
    def harm(pattern: PatternSet) -> PatternSet:
        for change in changes:
            pattern = change(pattern)
        return pattern

    return harm


def all_sizes(piece: str, name: str, change: Callable[..., object]) -> Change:
    return both(*(points_of(piece, size, name, change) for size in SIZES))


def clockwise(s: SizedPiece) -> tuple[Edge, ...]:
    return tuple(Edge(e.name, frozen_points(e.points[::-1])) for e in reversed(s.edges))


def renamed_edges(old: str, new: str) -> Callable[[SizedPiece], tuple[Edge, ...]]:
    return lambda s: tuple(replace(e, name=new) if e.name == old else e for e in s.edges)


def with_two_darts(first: tuple[int, int], second: tuple[int, int]) -> Change:
    """Give the front two darts on the waist, their legs on these vertices of it."""

    def landmarks(s: SizedPiece) -> tuple[Landmark, ...]:
        waist = s.edge("waist").points
        return (
            *s.landmarks,
            *(
                Landmark(f"leg_{i}", "waist", tuple(waist[i].tolist()), "dart leg")
                for i in (*first, *second)
            ),
        )

    darts = tuple(
        Dart(name, "waist", (f"leg_{a}", f"leg_{b}"), (60.0, -90.0))
        for name, (a, b) in (("inner", first), ("outer", second))
    )
    return sized("front", None, landmarks=landmarks, darts=darts)


def with_dart(**changes: object) -> Change:
    """Give the front, in every size, a dart on the waist, with one thing wrong in it."""
    legs = [
        Landmark("dart_in", "waist", (0.0, 0.0), "dart leg"),
        Landmark("dart_out", "waist", (0.0, 0.0), "dart leg"),
    ]

    def landmarks(s: SizedPiece) -> tuple[Landmark, ...]:
        waist = s.edge("waist").points
        places = [tuple(waist[i].tolist()) for i in (10, 14)]
        put = [replace(mark, point=place) for mark, place in zip(legs, places, strict=True)]
        put[0] = replace(put[0], **changes.get("leg", {}))  # type: ignore[arg-type]
        return (*s.landmarks, *put)

    dart = replace(
        Dart("dart", "waist", ("dart_in", "dart_out"), (60.0, -90.0)),
        **changes.get("dart", {}),  # type: ignore[arg-type]
    )
    return sized("front", None, landmarks=landmarks, darts=(dart,))


def put_twice(points: list[list[float]]) -> list[list[float]]:
    return [*points[:3], points[2], *points[3:]]


def zones(*keep: int) -> Change:
    def harm(pattern: PatternSet) -> PatternSet:
        band = pattern.relations.bands["waistband_fit"]
        return relation("bands", band.name, zones=tuple(band.zones[i] for i in keep))(pattern)

    return harm


FRONT_36 = "piece 'front', size '36'"
NAN, INF = math.nan, math.inf
BOWTIE = [[0, 0], [10, 0], [0, 10], [10, 10], [0, 0]]

# name: (the set, how it is broken, what must stand in the one line that says so)
OUTLINES: dict[str, tuple[Change, list[str]]] = {
    "open": (
        points_of("front", "36", "hem", lambda p: [p[0], [p[1][0] - 0.0015, p[1][1]]]),
        [f"{FRONT_36}, edge 'hem': found its end at (194.999, -600), 0.0015 mm from the start of "
         "edge 'side', expected the same place; close the outline"],
    ),
    "crossing": (
        points_of("front", "36", "centre", lambda p: [p[0], [200.0, -300.0], p[1]]),
        [f"{FRONT_36}: found that edges", "'side'", "'centre'", "cross or touch at (195, "],
    ),
    "an edge crossing itself": (
        points_of("front", "38", "hem", lambda p: [p[0], [150, HEM_Y - 9], [100, HEM_Y - 9],
                                                   [120, HEM_Y], [120, HEM_Y - 20], p[1]]),
        ["piece 'front', size '38': found that edge 'hem' crosses itself at (105.882, -606.353)"],
    ),
    "clockwise": (
        sized("front", "40", edges=clockwise),
        ["piece 'front', size '40': found the outline clockwise, expected counter-clockwise"],
    ),
    "two distinct points": (
        sized("loop", "36", edges=(edge("low", (0.0, 0.0), (9.0, 0.0)),
                                   edge("right", (9.0, 0.0), (0.0, 0.0)))),
        ["piece 'loop', size '36': found 2 distinct points, expected at least 3"],
    ),
    "no area": (
        sized("loop", None, edges=(edge("low", (0.0, 0.0), (9.0, 0.0)),
                                   edge("right", (9.0, 0.0), (30.0, 0.0)),
                                   edge("top", (30.0, 0.0), (9.0, 0.0)),
                                   edge("left", (9.0, 0.0), (0.0, 0.0)))),
        ["piece 'loop', size '36': found an outline without area, expected"],
    ),
    "edge without length": (
        points_of("loop", "36", "right", lambda p: [p[0], p[0]]),
        ["piece 'loop', size '36', edge 'right': found a length of 0 mm, expected more than 0"],
    ),
    "repeated point": (
        points_of("front", "36", "side", put_twice),
        [f"{FRONT_36}, edge 'side': found points[2] and points[3] at the same place"],
    ),
    "nearly repeated point": (
        points_of("front", "36", "side", lambda p: [*p[:2], [p[1][0], p[1][1] + 9e-7], *p[2:]]),
        [f"{FRONT_36}, edge 'side': found points[1] and points[2] at the same place"],
    ),
    "one point": (
        points_of("front", "36", "hem", lambda p: p[:1]),
        [f"{FRONT_36}, edge 'hem': found 1 point(s), expected at least 2"],
    ),
    "no edges": (sized("loop", "36", edges=()), ["piece 'loop', size '36': found no edge"]),
    "nan": (
        points_of("front", "36", "hem", lambda p: [p[0], [NAN, 0], p[1]]),
        [f"{FRONT_36}, edge 'hem': found (nan, 0) at points[1], expected finite numbers"],
    ),
    "infinity": (
        points_of("front", "36", "hem", lambda p: [p[0], [0, -INF], p[1]]),
        [f"{FRONT_36}, edge 'hem': found (0, -inf) at points[1]"],
    ),
    "nan landmark": (
        sized("front", "36", landmarks=(Landmark("hip_notch", "side", (NAN, 0.0), "notch"),)),
        [f"{FRONT_36}: landmark 'hip_notch': found (nan, 0), expected finite"],
    ),
    "nan level": (
        sized("front", "36", levels={"waist": (0.0, 0.0), "hip": (0.0, NAN)}),
        [f"{FRONT_36}: level 'hip': found (0, nan)"],
    ),
    "nan drill": (
        sized("back", "36", drills=(Mark("hook", (INF, 0.0)),)),
        ["piece 'back', size '36': drill 'hook': found (inf, 0)"],
    ),
    "turn at an end": (
        sized("front", "36",
              edges=lambda s: (replace(s.edges[0], turns=(1,)), *s.edges[1:])),
        [f"{FRONT_36}, edge 'hem': found turn points [1]"],
    ),
}  # fmt: skip

NAMES: dict[str, tuple[Change, list[str]]] = {
    "edge twice": (
        both(sized("loop", None, edges=renamed_edges("right", "low"))),
        ["piece 'loop', size '36': found edge 'low' twice, expected each name once"],
    ),
    "landmark twice": (
        sized("front", None, landmarks=lambda s: (*s.landmarks, *s.landmarks)),
        [f"{FRONT_36}: found landmark 'hip_notch' twice"],
    ),
    "drill twice": (
        sized("back", "36", drills=lambda s: (*s.drills, *s.drills)),
        ["piece 'back', size '36': found drill 'hook' twice"],
    ),
    "landmark called start": (
        sized("facing", None,
              landmarks=lambda s: (*s.landmarks, replace(s.landmarks[0], name="start"))),
        ["piece 'facing', size '36', edge 'side': found a landmark called 'start'"],
    ),
    "landmark off its edge": (
        sized("front", "36",
              landmarks=(Landmark("hip_notch", "side", (HIP["36"] + 0.011, HIP_Y), "notch"),)),
        [f"{FRONT_36}, edge 'side': found landmark 'hip_notch' at", "0.011 mm from the edge"],
    ),
    "landmark on no edge": (
        sized("back", None, landmarks=lambda s: (
            *s.landmarks, Landmark("x", "sid", s.landmarks[0].point))),
        ["piece 'back', size '36': landmark 'x': found the edge 'sid', which does not exist; "
         "did you mean 'side'?"],
    ),
    "kind": (
        sized("front", "36", landmarks=lambda s: (replace(s.landmarks[0], kind="nick"),)),
        [f"{FRONT_36}: landmark 'hip_notch': found the kind 'nick', expected notch"],
    ),
    "dart on no edge": (
        with_dart(dart={"edge": "wast"}),
        [f"{FRONT_36}: dart 'dart': found the edge 'wast', which does not exist"],
    ),
    "dart leg unknown": (
        with_dart(dart={"legs": ("dart_in", "dart_ou")}),
        [f"{FRONT_36}: dart 'dart': found the leg 'dart_ou', which is no landmark; did you mean"],
    ),
    "dart legs alike": (
        with_dart(dart={"legs": ("dart_in", "dart_in")}),
        [f"{FRONT_36}: dart 'dart': found 'dart_in' for both legs"],
    ),
    "dart leg of another kind": (
        with_dart(leg={"kind": "notch"}),
        [f"{FRONT_36}: dart 'dart': found the leg 'dart_in' of kind 'notch', expected 'dart leg'"],
    ),
    "dart leg on another edge": (
        with_dart(leg={"edge": "centre", "point": (0.0, -50.0)}),
        [f"{FRONT_36}: dart 'dart': found the leg 'dart_in' on edge 'centre', expected 'waist'"],
    ),
    "darts over each other": (
        with_two_darts((10, 14), (16, 12)),
        [f"{FRONT_36}: dart 'outer': found its mouth over that of dart 'inner'"],
    ),
    "dart within a dart": (
        with_two_darts((12, 13), (10, 16)),
        [f"{FRONT_36}: dart 'inner': found its mouth over that of dart 'outer'"],
    ),
    "grain without length": (
        sized("front", "36", grain=Grain((60.0, 0.0), (60.0, 0.0))),
        [f"{FRONT_36}: found a grain line of 0 mm, expected at least 0.01 mm"],
    ),
    "size missing in a piece": (
        lambda p: replace(p, pieces={**p.pieces, "loop": Piece("loop", {
            s: p.sized("loop", s) for s in ("36", "38")})}),
        ["piece 'loop': found no geometry in size '40', expected every size"],
    ),
    "size that the set does not have": (
        lambda p: with_sized(p, "loop", "042", p.sized("loop", "36")),
        ["piece 'loop': no size '042' in the set; "],
    ),
    "edge names differ": (
        sized("loop", "40", edges=renamed_edges("top", "upper")),
        ["piece 'loop', size '40': found edges with no 'top' and 'upper' besides, expected those "
         "of size '38'"],
    ),
    "landmark names differ": (
        sized("back", "36", landmarks=()),
        ["piece 'back', size '36': found landmarks with no 'hip_notch', expected those of size"],
    ),
    "level names differ": (
        sized("back", "40", levels=lambda s: {**s.levels, "thigh": (0.0, -300.0)}),
        ["piece 'back', size '40': found levels with 'thigh' besides, expected those of size '38'"],
    ),
    "edges in another order": (
        sized("loop", "40", edges=lambda s: tuple(
            replace(e, name={"right": "left", "left": "right"}.get(e.name, e.name))
            for e in s.edges)),
        ["piece 'loop', size '40': found the edges in the order low, left, top, right, expected "
         "that of size '38' (low, right, top, left)"],
    ),
    "piece name in its geometry": (
        lambda p: replace(p, pieces={**p.pieces, "loop": Piece("loops", p.piece("loop").nest)}),
        ["piece 'loop': found the name 'loops' in its geometry"],
    ),
    "names that differ in capitals": (
        lambda p: replace(p, pieces={**p.pieces, "Loop": Piece("Loop", p.piece("loop").nest)},
                          info={**p.info, "Loop": PieceInfo("Loop")}),
        ["piece 'Loop': found a piece 'loop' too, expected names that differ in more than"],
    ),
    "geometry without a piece": (
        lambda p: replace(p, info={n: i for n, i in p.info.items() if n != "loop"}),
        ["piece 'loop': found geometry of a piece that the set does not list; add [pieces.loop]"],
    ),
    "piece without geometry": (
        lambda p: replace(p, pieces={n: i for n, i in p.pieces.items() if n != "loop"}),
        ["piece 'loop': found it among the pieces of the set but no geometry of it"],
    ),
}  # fmt: skip

SET: dict[str, tuple[Change, list[str]]] = {
    "metres": (scaled(0.001), ["set 'pocket skirt': found that the largest piece ('back',",
                               "measures 0.623",
                               "it looks like metres: multiply the geometry by 1000"]),
    "inches": (scaled(1 / 25.4), ["set 'pocket skirt', girth 'hip': found silhouettes of about",
                                  "looks like inches"]),
    "centimetres": (scaled(0.1), ["girth 'hip': found silhouettes", "looks like centimetres"]),
    "small inches, no chart": (scaled(1 / 40, bare=True), ["looks like inches"]),
    "hundredths": (scaled(100.0), ["measures 6.23e+04, expected 20 to 5000 mm",
                                   "hundredths of a millimetre: multiply the geometry by 0.01"]),
    "chart in centimetres": (scaled(1.0, body=0.1), ["girth 'hip'", "(or the chart)"]),
    "no sizes": (of_set(sizes=()), ["set 'pocket skirt': found no size"]),
    "size twice": (of_set(sizes=("36", "38", "38", "40")), ["found size '38' twice"]),
    "base": (of_set(base="44"), ["set 'pocket skirt', base: no size '44'; did you mean '40'?"]),
    "lay_on": (both(of_set(lay_on="hips"), of_set(relations=Relations())),
               ["set 'pocket skirt', lay_on: no level 'hips'; did you mean 'hip'"]),
    "chart without a size": (of_set(chart=lambda p: {**p.chart, "bust": {"36": 800.0}}),
                             ["chart 'bust': found no value for size '38', expected one"]),
    "no pieces": (of_set(pieces={}, info={}, relations=Relations()), ["found no piece"]),
    "fold": (info("front", fold="center"),
             ["piece 'front', fold: no edge 'center' in piece 'front'; did you mean 'centre'?"]),
    "allowance of no edge": (info("front", allowance=Allowance(10, {"hemm": 4.0})),
                             ["piece 'front', allowance: no edge 'hemm'", "did you mean 'hem'"]),
    "turned edge": (info("front", allowance=Allowance(turned=frozenset({"foot"}))),
                    ["piece 'front', allowance: no edge 'foot'"]),
    "allowance below 0": (info("front", allowance=Allowance(edges={"hem": -5.0})),
                          ["piece 'front', edge 'hem': found an allowance of -5 mm, expected 0"]),
    "allowance that swallows": (info("loop", allowance=Allowance(edges={"left": 30.0})),
                                ["piece 'loop', edge 'left': found an allowance of 30 mm on a "
                                 "piece 25 mm wide, expected at most 25.4 mm"]),
    "allowance nan": (info("loop", allowance=Allowance(edges={"top": NAN})),
                      ["piece 'loop', edge 'top': found an allowance of nan mm"]),
    "corner of no edge": (info("front", allowance=Allowance(corners={"sid/waist": "square"})),
                          ["piece 'front', corner 'sid/waist': no edge 'sid'"]),
    "corner the wrong way": (info("front", allowance=Allowance(corners={"side/hem": "square"})),
                             ["piece 'front', corner 'side/hem': found edges that do not follow",
                              "expected 'side/mouth'"]),
    "corner style": (info("front", allowance=Allowance(corners={"hem/side": "round"})),  # type: ignore[dict-item]
                     ["piece 'front', corner 'hem/side': found 'round', expected mitre or square"]),
    "anchor of no landmark": (info("front", anchors={"hip": "side.start"}),
                              ["piece 'front', anchor of 'hip': no landmark 'hip'"]),
    "anchor on another edge": (info("front", anchors={"hip_notch": "hem.start"}),
                               ["anchor of 'hip_notch': found 'hem.start', expected 'side.start'"]),
    "cut": (info("front", cut=0), ["piece 'front', cut: found 0, expected at least 1"]),
}  # fmt: skip

FULL = "full_front"
PUT = (("mouth_top", "mouth.end"), ("mouth_low", "mouth.start"))
RELATIONS: dict[str, tuple[Change, list[str]]] = {
    "piece unknown": (
        more_seams(seam("x", "fron.side", "back.side")),
        ["seam 'x', lead: no piece 'fron'; did you mean 'front'?"],
    ),
    "edge unknown": (
        more_seams(seam("x", "back.sied", "front.side", check=True)),
        ["seam 'x', lead: no edge 'sied' in piece 'back'; did you mean 'side'?"],
    ),
    "landmark unknown": (
        more_seams(seam("x", "back.side from hip_noch", "front.side", check=True)),
        ["seam 'x', lead: no landmark 'hip_noch' in edge 'back.side'; did you mean 'hip_notch'?"],
    ),
    "landmark on another edge": (
        more_seams(seam("x", "facing.side from mouth_top", "front.side", check=True)),
        ["seam 'x', lead: no landmark 'mouth_top' in edge 'facing.side'"],
    ),
    "span without length": (
        more_seams(seam("x", "back.side from end to end", "front.side", check=True)),
        ["seam 'x', lead: found the span 'back.side from end to end' without length"],
    ),
    "empty run": (
        more_seams(Seam("x", (), parse_run("front.hem"), check=True)),
        ["seam 'x', lead: found an empty run"],
    ),
    "no follower": (
        more_seams(Seam("x", parse_run("front.hem"), (), check=True)),
        ["seam 'x', follow: found an empty run"],
    ),
    "mirror and follower": (
        more_seams(seam("x", "back.centre", "back.hem", mirror=True)),
        ["seam 'x': found a follower beside mirror"],
    ),
    "run with a gap": (
        more_seams(Seam("x", parse_run(["back.hem", "back.waist"]), parse_run("loop.low"))),
        ["seam 'x', lead: found a gap of ", "in size '36' between 'back.hem' and 'back.waist'",
         "expected one line within piece 'back'"],
    ),
    "run with a span turned round": (
        more_seams(Seam("x", parse_run(["back.hem", "back.centre reversed"]),
                        parse_run("loop.low"))),
        ["seam 'x', lead: found a gap of "],
    ),
    "hold unknown": (
        relation("seams", "side_seam", hold="hips"),
        ["seam 'side_seam', hold: no level 'hips'", "did you mean 'hip'"],
    ),
    "notch not written in full": (
        relation("seams", "side_seam", notches=(("hip_notch", "back.hip_notch"),)),
        ["seam 'side_seam', notches: found 'hip_notch', expected PIECE.LANDMARK"],
    ),
    "notch unknown": (
        relation("seams", "side_seam", notches=(("front.hip_nick", "back.hip_notch"),)),
        ["seam 'side_seam', notches: no landmark 'hip_nick' in piece 'front'; did you mean"],
    ),
    "notches exchanged": (
        relation("seams", "side_seam", notches=(("back.hip_notch", "front.hip_notch"),)),
        ["seam 'side_seam', notches: found 'back.hip_notch' on edge 'back.side', expected a "
         "landmark on 'front.side', 'facing.side'"],
    ),
    "crossing unknown": (
        relation("seams", "side_seam", crossing={"start": ("front.hemm", "back.hem")}),
        ["seam 'side_seam', crossing, start: no edge 'hemm' in piece 'front'"],
    ),
    "crossing not written in full": (
        relation("seams", "side_seam", crossing={"start": ("hem", "back.hem")}),
        ["seam 'side_seam', crossing, start: found 'hem', expected PIECE.EDGE"],
    ),
    "crossing at the wrong end": (
        relation("seams", "side_seam", crossing={"start": ("front.hem", "back.waist")}),
        ["seam 'side_seam', crossing, start: found that 'back.waist' does not touch the start of "
         "the run at 'back.side reversed' in size '36'"],
    ),
    "crossing on another piece": (
        relation("seams", "side_seam", crossing={"end": ("front.waist", "back.waist")}),
        ["seam 'side_seam', crossing, end: found 'front.waist', expected an edge of 'facing'"],
    ),
    "cycle of two": (
        more_seams(seam("x", "back.side", "front.side")),
        ["seam 'side_seam' and seam 'x': found 'back.side' and 'front.side' sewn to each other "
         "twice, each leading once"],
    ),
    "cycle of three": (
        more_seams(seam("x", "loop.low", "loop.top"), seam("y", "loop.top", "top_bag.inner"),
                   seam("z", "top_bag.inner", "loop.low")),
        ["found a cycle of leads", "loop.low -> seam 'x' -> loop.top -> seam 'y' -> "
         "top_bag.inner -> seam 'z' -> loop.low", "pieces 'loop', 'top_bag'"],
    ),
    "cycle through a band": (
        more_seams(seam("x", "waistband.lower", "back.waist")),
        ["found a cycle of leads", "band 'waistband_fit'", "'back', 'waistband'"],
    ),
    "edge that leads itself": (
        more_seams(seam("x", "loop.low", "loop.low reversed")),
        ["seam 'x': found 'loop.low' on both sides", "write mirror = true"],
    ),
    "assembly without its lead": (
        relation("assemblies", FULL, lead="fron"),
        [f"assembly '{FULL}', lead: no piece 'fron'"],
    ),
    "assembly with its lead as a part": (
        relation("assemblies", FULL, parts=(AssemblyPart("facing", PUT),
                                            AssemblyPart("front", PUT))),
        [f"assembly '{FULL}', part 'front': found the lead itself"],
    ),
    "assembly put by an unknown landmark": (
        relation("assemblies", FULL, parts=(AssemblyPart("facing", (
            ("mouth_tip", "mouth.end"), ("mouth_low", "mouth.start"))),)),
        [f"assembly '{FULL}', part 'facing', put: no landmark 'mouth_tip' in piece 'facing'"],
    ),
    "assembly put by one landmark": (
        relation("assemblies", FULL, parts=(AssemblyPart("facing", PUT[:1]),)),
        [f"assembly '{FULL}', part 'facing', put: found 1 pair(s) of landmarks, expected 2"],
    ),
    "assembly with a stranger": (
        relation("assemblies", FULL, edges={"hem": parse_run(["front.hem", "loop.low"])}),
        [f"assembly '{FULL}', edge 'hem': no part 'loop'"],
    ),
    "assembly called like a piece": (
        lambda p: replace(p, relations=Relations(assemblies={"loop": Assembly(
            "loop", "front", (), {e: parse_run(f"front.{e}") for e in
                                  ("hem", "side", "mouth", "waist", "centre")})})),
        ["assembly 'loop': found a piece of the same name"],
    ),
    "opening of no assembly": (
        relation("openings", "front_pocket", silhouette="full_frnt"),
        ["opening 'front_pocket': no assembly 'full_frnt'; did you mean 'full_front'?"],
    ),
    "opening of another piece": (
        relation("openings", "front_pocket", piece="back", edge="side"),
        ["opening 'front_pocket': no piece 'back' in assembly 'full_front'"],
    ),
    "opening with one end twice": (
        relation("openings", "front_pocket", across_end="start"),
        ["opening 'front_pocket': found across_end 'start' and side_end 'start', expected 'start' "
         "for one and 'end' for the other"],
    ),
    "opening with its ends exchanged": (
        relation("openings", "front_pocket", across_end="start", side_end="end"),
        ["opening 'front_pocket': found that the start of edge 'mouth' does not meet 'waist' in "
         "size '36'"],
    ),
    "opening across no edge": (
        relation("openings", "front_pocket", across="wasit"),
        ["opening 'front_pocket': no edge 'wasit' in silhouette 'full_front'; did you mean"],
    ),
    "stack of no opening": (
        relation("stacks", "front_pocket_layers", opening="front"),
        ["stack 'front_pocket_layers': no opening 'front'; did you mean 'front_pocket'?"],
    ),
    "stack without layers": (
        relation("stacks", "front_pocket_layers", layers=()),
        ["stack 'front_pocket_layers': found no layer"],
    ),
    "stack clear of no edge": (
        relation("stacks", "front_pocket_layers", clear_of=("crotch",)),
        ["stack 'front_pocket_layers', clear_of: no edge 'crotch' in silhouette 'full_front'"],
    ),
    "band of no piece": (
        relation("bands", "waistband_fit", piece="waistbnd"),
        ["band 'waistband_fit', sewn: no piece 'waistbnd'; did you mean 'waistband'?"],
    ),
    "band with one edge twice": (
        relation("bands", "waistband_fit", far="lower"),
        ["band 'waistband_fit': found 'lower' as sewn and far"],
    ),
    "band without its first zone": (
        zones(1, 2),
        ["band 'waistband_fit': found edge 'lower' without a zone from 'start' to 'cf'"],
    ),
    "band without a middle zone": (
        zones(0, 2),
        ["band 'waistband_fit': found edge 'lower' without a zone from 'cf' to 'side'"],
    ),
    "band without its last zone": (
        zones(0, 1),
        ["band 'waistband_fit': found edge 'lower' without a zone from 'side' to 'end'"],
    ),
    "band without zones": (
        zones(),
        ["band 'waistband_fit': found edge 'lower' without a zone from 'start' to 'end'"],
    ),
    "band with zones out of order": (
        relation("bands", "waistband_fit", zones=(
            Zone("a", "start", "side"), Zone("b", "cf", "side"), Zone("c", "side", "end"))),
        ["band 'waistband_fit', zone 'b': found it from 'cf' (30 mm)", "to begin at 'side'"],
    ),
    "band with a zone turned round": (
        relation("bands", "waistband_fit", zones=(
            Zone("a", "start", "side"), Zone("b", "side", "cf"), Zone("c", "cf", "end"))),
        ["band 'waistband_fit', zone 'b': found it from 'side'"],
    ),
    "band with a zone at no landmark": (
        relation("bands", "waistband_fit", zones=(Zone("a", "start", "sides"),)),
        ["band 'waistband_fit', zone 'a': no landmark 'sides' in edge 'waistband.lower'; did you"],
    ),
    "band with a zone twice": (
        relation("bands", "waistband_fit", zones=(
            Zone("a", "start", "side"), Zone("a", "side", "end"))),
        ["band 'waistband_fit': found zone 'a' twice"],
    ),
    "girth along no edge": (
        relation("girths", "waist", runs=(parse_run("front.wast"),)),
        ["girth 'waist': no edge 'wast' in piece 'front'"],
    ),
    "girth without anything": (
        lambda p: replace(p, relations=Relations(girths={"x": Girth("x")})),
        ["girth 'x': expected either runs, or a level with silhouettes"],
    ),
    "girth at no level": (
        relation("girths", "hip", level="seat", silhouettes=("back",)),
        ["girth 'hip': no level 'seat' in piece 'back'"],
    ),
    "girth of no silhouette": (
        relation("girths", "hip", silhouettes=("full_bak",)),
        ["girth 'hip': no silhouette 'full_bak'; did you mean"],
    ),
    "girth of no chart row": (
        relation("girths", "hip", chart="hips"),
        ["girth 'hip': no row of the chart 'hips'; did you mean 'hip'?"],
    ),
    "place of no piece": (
        relation("places", "loop", piece="lop"),
        ["place of 'lop': no piece 'lop'; did you mean 'loop'?"],
    ),
    "place at no level": (
        relation("places", "loop", level="wast"),
        ["place of 'loop': no level 'wast'; did you mean 'waist'?"],
    ),
    "blend at no level": (
        blend(upper="wast"),
        ["blend, main 'full_front': no level 'wast' in piece 'front'; did you mean 'waist'?"],
    ),
    "blend of no seam": (blend(seam="side"), ["blend, seam: no seam 'side'; did you mean 'side_s"]),
    "blend without mains": (
        lambda p: replace(p, relations=replace(
            p.relations, blend=replace(p.relations.blend, mains=()))),  # type: ignore[type-var]
        ["blend: found no main"],
    ),
    "blend of no silhouette": (
        blend({"silhouette": "full_frnt"}),
        ["blend, main 'full_frnt': no silhouette 'full_frnt'; did you mean 'full_front'"],
    ),
    "blend along no edge": (
        blend({"centre": "center"}),
        ["blend, main 'full_front': no edge 'center' in silhouette 'full_front'"],
    ),
    "blend held at no landmark": (
        blend({"across_hold": "front.dart_out"}),
        ["blend, main 'full_front', across_hold: no landmark 'dart_out' in piece 'front'"],
    ),
    "blend held at no level": (
        blend({"side_hold": "hips"}),
        ["blend, main 'full_front', side_hold: no level 'hips' in piece 'front'"],
    ),
    "hold above the hip": (
        blend({"side_hold": "waist"}),
        ["blend, main 'full_front', side_hold: found level 'waist' 200 mm above 'hip' in size "
         "'36', expected it on 'hip' or below"],
    ),
    "upper and lower at one height": (
        blend(upper="hip"),
        ["found levels 'hip' and 'hip' at the same height"],
    ),
    "leg at no level": (
        blend(leg=LegPlan("knee", "hip", ("side",))),
        ["blend, main 'full_front', leg: no level 'knee' in piece 'front'"],
    ),
    "leg along no edge": (
        blend(leg=LegPlan("hip", "hip", ("inseam",))),
        ["blend, main 'full_front', leg: no edge 'inseam' in silhouette 'full_front'"],
    ),
}  # fmt: skip

BAD = OUTLINES | NAMES | SET | RELATIONS


def test_no_way_to_break_a_set_has_the_name_of_another() -> None:
    assert len(BAD) == len(OUTLINES) + len(NAMES) + len(SET) + len(RELATIONS)


@pytest.mark.parametrize(("harm", "parts"), BAD.values(), ids=BAD.keys())
def test_what_is_wrong_is_named(harm: Change, parts: list[str]) -> None:
    found = find_problems(harm(pocket_set()))
    assert any(all(part in line for part in parts) for line in found), "\n".join(found)
    assert all("\n" not in line for line in found)


def _layer(index: int, **changes: object) -> Change:
    def harm(pattern: PatternSet) -> PatternSet:
        layers = list(pattern.relations.stacks["front_pocket_layers"].layers)
        layers[index] = replace(layers[index], **changes)  # type: ignore[arg-type]
        return relation("stacks", "front_pocket_layers", layers=tuple(layers))(pattern)

    return harm


@pytest.mark.parametrize(
    ("harm", "part"),
    [
        (_layer(0, piece="facings"), "layer 'facings': no piece 'facings'"),
        (_layer(0, put=PUT[:1]), "layer 'facing', put: found 1 pair(s) of landmarks"),
        (_layer(0, put=(PUT[0], ("mouth_low", "moth.start"))), "put: no landmark 'moth.start'"),
        (_layer(0, ride={"wast": "waist"}), "layer 'facing', ride: no edge 'wast'"),
        (_layer(0, ride={"waist": "wast"}), "ride: no edge 'wast' in silhouette 'full_front'"),
        (_layer(1, mouth="mouht"), "layer 'top_bag', mouth: no edge 'mouht'"),
    ],
)
def test_what_is_wrong_with_a_layer_is_named(harm: Change, part: str) -> None:
    found = find_problems(harm(pocket_set()))
    assert any(part in line for line in found), "\n".join(found)


def _edges(**edges: list[str] | None) -> Change:
    def harm(pattern: PatternSet) -> PatternSet:
        known = dict(pattern.relations.assemblies[FULL].edges)
        for name, run in edges.items():
            if run is None:
                del known[name]
            else:
                known[name] = parse_run(run)
        return relation("assemblies", FULL, edges=known)(pattern)

    return harm


@pytest.mark.parametrize(
    ("harm", "part"),
    [
        (_edges(hem=None), "'front.centre' does not end where 'front.side' begins"),
        (_edges(side=["front.side"]), "'front.side' does not end where 'facing.waist from start"),
        (
            _edges(side=["front.side", "facing.side"]),
            "'front.side' does not end where 'facing.side' begins",
        ),
        (_edges(waist=["front.waist"]), "'facing.side from mouth_low to end' does not end where"),
        (
            _edges(side=["facing.side from mouth_low to end", "front.side"]),
            "'front.hem' does not end where 'facing.side from mouth_low to end' begins",
        ),
    ],
)
def test_a_silhouette_that_does_not_close_is_named(harm: Change, part: str) -> None:
    found = find_problems(harm(pocket_set()))
    assert any(f"assembly '{FULL}': found that {part}" in line for line in found), found


# --------------------------------------------------------------------------- soundness


@pytest.mark.parametrize("pattern", [tiny_set(), pocket_set()], ids=lambda p: p.name)
def test_sound_sets_have_no_problems(pattern: PatternSet) -> None:
    assert find_problems(pattern) == ()


def test_all_problems_come_at_once_in_the_order_of_the_set() -> None:
    harm = both(
        *(OUTLINES[name][0] for name in ("edge without length", "nan")),
        NAMES["grain without length"][0],
        SET["chart without a size"][0],
        RELATIONS["place at no level"][0],
    )
    found = find_problems(harm(pocket_set()))
    wanted = ["chart 'bust'", "found (nan, 0)", "grain line", "edge 'right'", "place of 'loop'"]
    at = [next(i for i, line in enumerate(found) if part in line) for part in wanted]
    assert at == sorted(at)


def test_one_fault_does_not_raise_a_row_of_others() -> None:
    assert len(find_problems(OUTLINES["nan"][0](pocket_set()))) == 1
    assert len(find_problems(NAMES["piece without geometry"][0](pocket_set()))) == 1
    assert len(find_problems(OUTLINES["clockwise"][0](pocket_set()))) == 1


def test_a_narrow_strip_may_have_an_ordinary_allowance() -> None:
    harm = info("loop", allowance=Allowance(15.0))  # wider than half of its 25 mm
    assert find_problems(harm(pocket_set())) == ()


def test_a_run_may_go_over_a_closed_dart() -> None:
    span = ["front.waist from start to dart_in", "front.waist from dart_out to end"]
    harm = both(
        with_dart(),
        relation("girths", "waist", runs=(parse_run(span),)),
    )
    assert find_problems(harm(pocket_set())) == ()
    apart = relation("girths", "waist", runs=(parse_run([span[1], span[0]]),))
    assert any("found a gap" in line for line in find_problems(both(harm, apart)(pocket_set())))


def test_a_hold_below_the_hip_is_fine_whichever_way_the_grain_points() -> None:
    turned = sized("front", None, grain=lambda s: Grain(s.grain.end, s.grain.start))
    lower = sized("front", None, levels=lambda s: {**s.levels, "thigh": (0.0, -260.0)})
    below = blend({"side_hold": "thigh", "centre_hold": "thigh"})
    assert find_problems(both(lower, below)(pocket_set())) == ()
    assert find_problems(both(turned, lower, below)(pocket_set())) == ()


@examples(30)
@given(
    st.floats(-math.pi, math.pi),
    st.tuples(st.floats(-1e5, 1e5), st.floats(-1e5, 1e5)),
    st.integers(0, 4),
    st.sampled_from(["front", "back", "facing", "top_bag", "waistband"]),
)
def test_pieces_may_lie_anywhere_and_start_at_any_edge(
    angle: float, shift: tuple[float, float], first: int, name: str
) -> None:
    """Each size in a frame of its own: turned, far from the origin, another first edge."""
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    pattern = pocket_set()
    changed = moved(pattern.sized(name, "38"), lambda p: p @ turn + shift)
    first %= len(changed.edges)
    edges = changed.edges[first:] + changed.edges[:first]
    assert find_problems(with_sized(pattern, name, "38", replace(changed, edges=edges))) == ()


@given(st.permutations(list(pocket_set().pieces)))
@examples(10)
def test_the_order_of_the_pieces_does_not_matter(order: list[str]) -> None:
    broken = both(RELATIONS["cycle of two"][0], RELATIONS["edge unknown"][0])(pocket_set())
    shuffled = replace(broken, pieces={name: broken.pieces[name] for name in order})
    assert find_problems(shuffled) == find_problems(broken)


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.parent.name)
def test_demo_sets_are_sound_and_checked_in_few_calls(file: Path) -> None:
    """Some hundred calls for each edge of each size, however many points it has."""
    pattern = load(file)
    assert find_problems(pattern) == ()
    edges = [e for p in pattern.pieces.values() for sized in p.nest.values() for e in sized.edges]
    assert calls_of(lambda: find_problems(pattern)) < 250 * len(edges)


def test_darts_may_stand_side_by_side() -> None:
    assert find_problems(with_two_darts((10, 12), (16, 14))(pocket_set())) == ()


def test_the_unit_of_a_trouser_is_told_by_its_hip_and_not_by_its_crotch() -> None:
    """Its two boxes are 1.6 times as wide as the hip: near enough to inches to seem centimetres."""
    (trouser,) = (path.parent for path in DEMOS if path.parent.name == "slant_trouser")
    pattern = load(trouser)
    for factor, unit in ((1 / 25.4, "inches"), (0.1, "centimetres")):
        found = find_problems(scaled(factor)(pattern))
        assert any(line.endswith(f"looks like {unit}") for line in found), found


def test_the_hem_of_a_narrow_facing_may_be_as_wide_as_that_of_its_coat() -> None:
    """40 mm on a facing 50 mm wide and 600 mm long: common practice, no source."""
    outline = [(0.0, 0.0), (50.0, 0.0), (50.0, 600.0), (0.0, 600.0)]
    names = ("hem", "right", "top", "left")
    ends = zip(names, outline, [*outline[1:], outline[0]], strict=True)
    edges = tuple(Edge(name, np.array(pair)) for name, *pair in ends)
    sized = SizedPiece(edges, Grain((25.0, 50.0), (25.0, 500.0)))

    def problems(**allowances: float) -> tuple[str, ...]:
        told = PieceInfo("Facing", allowance=Allowance(10.0, allowances))
        pattern = PatternSet(
            name="facing",
            sizes=("M",),
            base="M",
            lay_on="",
            pieces={"facing": Piece("facing", {"M": sized})},
            info={"facing": told},
        )
        return find_problems(pattern)

    assert problems(hem=40.0) == ()
    (found,) = problems(left=40.0)
    assert "found an allowance of 40 mm on a piece 50 mm wide" in found
