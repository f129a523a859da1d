"""Pleats and tucks: closed, carried, walked; by the arithmetic of the trade.

The closed width is the open one less what each pleat takes up, twice its depth; knife pleats
whose depth is the room between their folds cover the run three times over, 3 to 1: common practice,
no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.engine.edits.blend import Blend
from propagate.engine.edits.move_mark import MoveMark
from propagate.engine.edits.raise_edge import Raise
from propagate.engine.review.pleats import find_faulty_pleats
from propagate.engine.review.run import review
from propagate.engine.revise import revise
from propagate.engine.run import run, settle
from propagate.engine.walk import walk
from propagate.errors import Conflict
from propagate.geometry.polyline import point_at
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.amount import Amount
from propagate.pattern.model import InternalLine, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.pleats import PleatMarks, Pleats, folded_run
from propagate.pattern.relations import Band, PieceInfo, Seam, Zone, parse_run
from propagate.pattern.spans import distance_on_run, run_length
from propagate.pattern.validate import find_problems
from propagate.report.walk_text import walk_lines
from tests.builders import tiny_set
from tests.engine.test_corners_that_follow import _piece
from tests.engine.test_fullness import strip
from tests.examples import examples

SIZES = ("S", "M")
STEP = 20.0
"""By how much everything is wider in M."""


def skirt(wide: float, at: list[list[float]], bow: float = 0.0) -> SizedPiece:
    """A skirt with pleats at these places from the left of its top, and their lines to the hem."""
    x = np.linspace(0.0, wide, 60 if bow else 2)
    top = np.column_stack([x, -bow * np.sin(np.pi * x / wide)])
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(top, axis=0).T))])
    top[-1, 1] = 0.0
    marks, lines = [], []
    for k, places in enumerate(at):
        for i, place in enumerate(places):
            point = tuple(float(np.interp(place, arc, top[:, axis])) for axis in (0, 1))
            marks.append(Landmark(f"p{k}_{i}", "top", point, "notch"))
            lines.append(InternalLine(f"p{k}_{i}_line", np.array([point, (point[0], -150.0)])))
    drawn = _piece(
        ("hem", np.array([(0.0, -400.0), (wide, -400.0)])),
        ("side", np.array([(wide, -400.0), (wide, 0.0)])),
        ("top", top[::-1]),
        ("centre", np.array([(0.0, 0.0), (0.0, -400.0)])),
    )
    return replace(drawn, landmarks=tuple(marks), lines=tuple(lines))


def evenly(wide: float, count: int, depth: float, kind: int = 2) -> list[list[float]]:
    """Pleats that leave gaps alike between them and at both ends."""
    take = {2: 2.0, 3: 4.0, 4: 4.0}[kind] * depth
    gaps = count + 1 + (count if kind == 4 else 0)  # of a box its face is as wide as the gaps
    gap = (wide - count * take) / gaps
    found, x = [], gap
    for _ in range(count):
        if kind == 4:
            steps = [0.0, 2 * depth, 2 * depth + gap, 4 * depth + gap]
        else:
            steps = [0.0, take] if kind == 2 else [0.0, take / 2, take]
        found.append([x + step for step in steps])
        x += steps[-1] + gap
    return found


def pleated(
    wide: float = 480.0,
    count: int = 4,
    depth: float = 20.0,
    kind: int = 2,
    *,
    follows: bool = False,
    backwards: bool = False,
    bow: float = 0.0,
    **more: object,
) -> PatternSet:
    """A pleated skirt on a band, or one that follows a yoke; wider by STEP in the second size."""
    drawn = {
        size: skirt(wide + k * STEP, evenly(wide + k * STEP, count, depth, kind), bow)
        for k, size in enumerate(SIZES)
    }
    names = [[f"p{k}_{i}" for i in range(kind)] for k in range(count)]
    rows = tuple(PleatMarks(f"p{k}", tuple(marks)) for k, marks in enumerate(names))
    run_of = "skirt.top reversed" if backwards else "skirt.top"
    pleats = Pleats("pleats", parse_run(run_of), rows, **more)
    closed = {
        size: sized.edge("top").length - count * (2.0 if kind == 2 else 4.0) * depth
        for size, sized in drawn.items()
    }
    other = Piece("other", {size: strip(mm) for size, mm in closed.items()})
    if follows:
        seam = Seam("join", parse_run("other.sewn"), parse_run("skirt.top reversed"))
        relations = Relations(seams={"join": seam}, pleats={"pleats": pleats})
    else:
        zone = Zone("all", "start", "end", parse_run("skirt.top reversed"))
        band = Band("join", "other", "sewn", "far", (zone,))
        relations = Relations(bands={"join": band}, pleats={"pleats": pleats})
    return PatternSet(
        name="pleated",
        sizes=SIZES,
        base="S",
        lay_on="waist",
        pieces={"skirt": Piece("skirt", drawn), "other": other},
        info={name: PieceInfo(name) for name in ("skirt", "other")},
        relations=relations,
    )


def marks_of(pattern: PatternSet, size: str = "S") -> np.ndarray:
    """Places of all marks from the left of the top, in their order, mm."""
    piece = pattern.sized("skirt", size)
    long = piece.edge("top").length
    return np.array(sorted(long - piece.distance("top", m.name) for m in piece.landmarks))


def lets_out(pattern: PatternSet, by: float, bow: float = 0.0) -> PatternSet:
    """The skirt comes back wider in every size, the marks not drawn."""
    fresh = {
        size: skirt(pattern.sized("skirt", size).edge("hem").length + by, [], bow) for size in SIZES
    }
    result = revise(pattern, {"skirt": Piece("skirt", fresh)}, tolerance=0.01)
    return result.pattern


# -------------------------------------------------------------------------------- closed


@pytest.mark.parametrize(
    ("kind", "closed"),
    [
        (2, 480.0 - 4 * 2 * 20.0),  # 4 knife pleats of 20 mm: each takes up 40
        (3, 480.0 - 4 * 4 * 20.0),  # 4 inverted pleats: each takes up 80
        (4, 480.0 - 4 * 4 * 20.0),
    ],
    ids=["knife", "inverted", "box"],
)
def test_closed_is_open_less_what_they_take_up(kind: int, closed: float) -> None:
    pattern = pleated(kind=kind)
    assert find_problems(pattern) == ()
    length = run_length(lambda name: pattern.sized(name, "S"), parse_run("skirt.top"))
    assert length == pytest.approx(closed, abs=1e-9)
    found = walk(pattern, cut_lines=False)
    (row,) = found.of("pleats")
    assert found.sews and (row.first, row.second) == pytest.approx((closed, closed))
    assert row.verdict == "sews" and f"480.0 mm on {closed:.1f} mm" in str(row.meant)


def test_full_knife_pleats_are_three_to_one() -> None:
    """12 pleats of 20 mm depth, 20 mm from fold to fold: 720 mm of cloth on 240."""
    wide, depth, count = 720.0, 20.0, 12
    places = [[k * 60.0 + 20.0, k * 60.0 + 60.0] for k in range(count)]
    places[-1][1] -= 1e-9  # else on the corner
    drawn = skirt(wide, places)
    rows = tuple(PleatMarks(f"p{k}", (f"p{k}_0", f"p{k}_1")) for k in range(count))
    pleats = Pleats("all", parse_run("skirt.top"), rows, depth=depth)
    pattern = replace(
        pleated(),
        pieces={**pleated().pieces, "skirt": Piece("skirt", dict.fromkeys(SIZES, drawn))},
        relations=Relations(pleats={"all": pleats}),
    )
    (row,) = walk(pattern, cut_lines=False).of("pleats")
    assert (row.first, row.second) == pytest.approx((240.0, 240.0))
    assert (
        row.meant == "12 pleats 20.0 mm deep, 720.0 mm on 240.0 mm, 3 to 1"
        and row.verdict == "sews"
    )
    assert any("12 pleats 20.0 mm deep" in line for line in walk_lines(walk(pattern)))


def test_marks_on_the_closed_run_lie_where_it_is_sewn() -> None:
    """The third of four pleats, even gaps of 64 mm: its placement is at 3 gaps when closed."""
    pattern = pleated()
    found = distance_on_run(
        lambda name: pattern.sized(name, "S"), parse_run("skirt.top reversed"), "skirt", "p2_1"
    )
    assert found == pytest.approx(3 * (480.0 - 160.0) / 5)


# ------------------------------------------------------------------------------- carried


@pytest.mark.parametrize("kind", [2, 3, 4])
@pytest.mark.parametrize("backwards", [False, True])
def test_depth_stays_and_even_stays_even(kind: int, backwards: bool) -> None:
    pattern = pleated(kind=kind, backwards=backwards)
    changed = lets_out(pattern, 30.0)
    for k, size in enumerate(SIZES):
        wanted = np.concatenate(evenly(510.0 + k * STEP, 4, 20.0, kind))
        assert marks_of(changed, size) == pytest.approx(wanted, abs=1e-6)
        assert walk(changed, size, cut_lines=False).sews
        band = changed.sized("other", size).edge("sewn").length
        assert band == pytest.approx(pattern.sized("other", size).edge("sewn").length + 30.0)


def test_by_ratio_the_depth_goes_with_the_run() -> None:
    """480 mm on 320 stay 3 to 2: 510 on 340, each of the four 42.5 wide."""
    changed = lets_out(pleated(keep="ratio"), 30.0)
    assert np.diff(marks_of(changed))[::2] == pytest.approx(4 * [42.5], abs=1e-6)
    assert changed.sized("other", "S").edge("sewn").length == pytest.approx(340.0, abs=0.01)


@pytest.mark.parametrize("keep", ["depth", "ratio"])
@pytest.mark.parametrize("bow", [0.0, 12.0])
@pytest.mark.parametrize("kind", [2, 4])
def test_a_pleated_follower_takes_its_lead(keep: str, bow: float, kind: int) -> None:
    """The yoke grows by 25 mm: so does the closed run, and the pleats stay as they are to be."""
    pattern = pleated(follows=True, keep=keep, bow=bow, kind=kind)
    fresh = {s: strip(pattern.sized("other", s).edge("sewn").length + 25.0) for s in SIZES}
    result = revise(pattern, {"other": Piece("other", fresh)}, tolerance=0.01)
    for size in SIZES:
        lies, was = (
            folded_run(of.sized("skirt", size), pattern.relations.pleats["pleats"])
            for of in (result.pattern, pattern)
        )
        assert lies.closed_mm == pytest.approx(was.closed_mm + 25.0, abs=0.02)
        times = 1.0 if keep == "depth" else lies.open_mm / was.open_mm
        assert lies.taken_up == pytest.approx(was.taken_up * times, abs=0.01)
        gaps, had = (
            np.diff(np.concatenate([[0.0], one.closed_at, [one.closed_mm]])) for one in (lies, was)
        )
        assert gaps / had == pytest.approx(lies.closed_mm / was.closed_mm, abs=1e-4)
        assert walk(result.pattern, size, cut_lines=False).sews
    text = " ".join(c.what for c in result.records["S"].changes)
    assert "'pleats' folded anew: 4 pleats" in text


def test_lines_go_with_their_marks() -> None:
    changed = lets_out(pleated(), 30.0)
    piece = changed.sized("skirt", "S")
    lines = {line.name: line.points for line in piece.lines}
    for mark in piece.landmarks:
        x, y = mark.point
        assert lines[f"{mark.name}_line"] == pytest.approx(np.array([(x, y), (x, -150.0)]))


def test_tucks_are_called_tucks_and_anchored_ones_stay_by_their_end() -> None:
    pattern = pleated(fold="tuck", depth=5.0)
    anchors = {"p0_0": "top.end", "p0_1": "top.end"}  # the top runs from right to left
    info = {**pattern.info, "skirt": replace(pattern.info["skirt"], anchors=anchors)}
    pattern = replace(pattern, info=info)
    changed = lets_out(pattern, 30.0)
    was, now = marks_of(pattern), marks_of(changed)
    assert now[:2] == pytest.approx(was[:2], abs=1e-6) and now[-1] - was[-1] > 15.0
    (row,) = walk(changed, cut_lines=False).of("pleats")
    assert row.meant.startswith("4 tucks 5.0 mm deep")


def test_an_edit_of_a_mark_makes_one_pleat_deeper() -> None:
    pattern = pleated()
    way = -1.0 if pattern.sized("skirt", "S").edge("top").points[0, 0] > 0 else 1.0
    result = run(pattern, MoveMark(mark="skirt.p1_1", by=Amount(mm=way * 10.0)))
    takes = np.diff(marks_of(result.pattern))[::2]
    assert takes == pytest.approx([40.0, 50.0, 40.0, 40.0], abs=1e-6)
    assert result.pattern.sized("other", "S").edge("sewn").length == pytest.approx(310.0, abs=0.01)


def test_pleats_that_no_longer_fit_are_a_conflict() -> None:
    with pytest.raises(Conflict, match=r"pleats 'pleats' take up 400\.0 mm"):
        lets_out(pleated(depth=50.0), -100.0)


# ---------------------------------------------------------------------------- properties


@examples(15)
@given(
    wide=st.floats(400.0, 700.0),
    count=st.integers(1, 5),
    depth=st.floats(3.0, 15.0),
    kind=st.sampled_from([2, 3, 4]),
    by=st.floats(-40.0, 40.0),
    follows=st.booleans(),
    backwards=st.booleans(),
    keep=st.sampled_from(["depth", "ratio"]),
)
def test_every_pleat_closes_twice_is_once(
    wide: float, count: int, depth: float, kind: int, by: float,
    follows: bool, backwards: bool, keep: str,
) -> None:  # fmt: skip
    """Closed arithmetic after a change; propagating again changes nothing; the order is free."""
    options = {"follows": follows, "backwards": backwards, "keep": keep}
    pattern = pleated(wide, count, depth, kind, **options)
    if follows:
        fresh = {s: strip(pattern.sized("other", s).edge("sewn").length + by) for s in SIZES}
        sent = {"other": Piece("other", fresh)}
    else:
        sent = {
            "skirt": Piece(
                "skirt", {s: skirt(wide + k * STEP + by, []) for k, s in enumerate(SIZES)}
            )
        }
    changed = revise(pattern, sent, tolerance=0.01).pattern
    take = (2.0 if kind == 2 else 4.0) * depth * count
    for k, size in enumerate(SIZES):
        top = changed.sized("skirt", size).edge("top").length
        whole = wide + k * STEP
        closed = top - take if keep == "depth" else top * (whole - take) / whole
        sewn = changed.sized("other", size).edge("sewn").length
        assert sewn == pytest.approx(closed, abs=0.02)
        again = settle(replace(changed), size).pattern
        assert again.sized("skirt", size) == changed.sized("skirt", size)
    rows = tuple(reversed(pattern.relations.pleats["pleats"].pleats))
    rows = tuple(replace(row, name=f"z{row.name}", marks=row.marks[::-1]) for row in rows)
    other = replace(pattern.relations.pleats["pleats"], name="a", pleats=rows)
    turned = replace(pattern, relations=replace(pattern.relations, pleats={"a": other}))
    same = revise(turned, sent, tolerance=0.01).pattern
    for size in SIZES:
        for name in ("skirt", "other"):
            a, b = same.sized(name, size), changed.sized(name, size)
            assert a.edges == b.edges and a.landmarks == b.landmarks and a.lines == b.lines


def test_what_nothing_changed_keeps_every_digit() -> None:
    pattern = pleated(bow=12.0)
    for size in SIZES:
        assert settle(pattern, size).pattern.sized("skirt", size) == pattern.sized("skirt", size)


# --------------------------------------------------------------------------------- files


TEXT = """[[pleats]]
name = "pleats"
run = ["skirt.top"]
keep = "ratio"
pleats = [
  { name = "p0", marks = ["p0_0", "p0_1"] },
]
"""


def test_read_and_written() -> None:
    head = (
        'format = 1\nname = "pleated"\nsizes = ["S"]\nbase = "S"\nlay_on = "waist"\n'
        "[pieces.skirt]\n[pieces.other]\n"
    )
    read = parse_set(head + TEXT, "set.toml")
    pleats = read.relations.pleats["pleats"]
    assert pleats.pleats == (PleatMarks("p0", ("p0_0", "p0_1")),) and pleats.keep == "ratio"
    assert TEXT in render_set(replace(pleated(), relations=Relations(pleats={"pleats": pleats})))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"pleats": ()}, "found no pleat"),
        ({"pleats": (PleatMarks("a", ("p0_0",)),)}, "expected two to four landmarks"),
        ({"pleats": (PleatMarks("a", ("p0_0", "p9")),)}, "landmark 'p9'"),
        ({"pleats": (PleatMarks("a", ("start", "p0_0")),)}, "a landmark that can move"),
        ({"run": parse_run(["skirt.top", "skirt.side"])}, "expected one span"),
        ({"depth": 5.0, "keep": "ratio"}, "beside keep"),
    ],
)
def test_what_is_wrong_is_said(more: dict[str, object], words: str) -> None:
    pattern = pleated()
    pleats = replace(pattern.relations.pleats["pleats"], **more)
    wrong = replace(pattern, relations=replace(pattern.relations, pleats={"pleats": pleats}))
    assert any(words in line for line in find_problems(wrong)), find_problems(wrong)


def test_pleats_that_a_drawing_shows_deeper_are_deeper() -> None:
    """Drawn 520 mm wide, with four pleats of 25 mm: 320 mm closed as before, and said."""
    pattern = pleated()
    fresh = {
        s: skirt(520.0 + k * STEP, evenly(520.0 + k * STEP, 4, 25.0)) for k, s in enumerate(SIZES)
    }
    result = revise(pattern, {"skirt": Piece("skirt", fresh)}, tolerance=0.01)
    assert np.diff(marks_of(result.pattern))[::2] == pytest.approx(4 * [50.0], abs=0.01)
    assert result.pattern.sized("other", "S").edge("sewn").length == pytest.approx(320.0, abs=0.01)
    said = [warning.text for warning in result.records["S"].warnings]
    assert any(
        "4 pleats 20.0 mm deep, 480.0 mm on 320.0 mm, 1.5 to 1 before, now 4 pleats 25.0 mm deep"
        in text
        for text in said
    )


# -------------------------------------------------------------------------------- review


def laid(*places: list[float], **more: object) -> list[str]:
    """What the review says of pleats at these places of a top of 480 mm."""
    drawn = skirt(480.0, list(places))
    rows = tuple(
        PleatMarks(f"p{k}", tuple(f"p{k}_{i}" for i in range(len(at))))
        for k, at in enumerate(places)
    )
    run_of = str(more.pop("run", "skirt.top"))
    told = Pleats("pleats", parse_run(run_of), rows, **more)
    base = pleated()
    pieces = {**base.pieces, "skirt": Piece("skirt", dict.fromkeys(SIZES, drawn))}
    pattern = replace(base, pieces=pieces, relations=Relations(pleats={"pleats": told}))
    return [finding.rule for finding in find_faulty_pleats(pattern)]


@pytest.mark.parametrize("kind", [2, 3, 4])
def test_sound_pleats_are_not_spoken_of(kind: int) -> None:
    """Nor is anything else of the set: a pleated skirt on its band."""
    pattern = pleated(count=3, depth=15.0, kind=kind)
    assert [f.rule for f in review(pattern) if "pleat" in f.rule or "ease" in f.rule] == []
    assert [f.rule for f in review(pattern) if not f.sews] == []


def test_mistakes_are_told() -> None:
    assert laid([40.0, 80.0], [120.0, 160.0]) == []
    assert laid([40.0, 80.0], [60.0, 100.0]) == ["pleats overlap"]
    assert laid([40.0, 80.0], depth=240.0) == ["pleats take up more than their run"]
    assert laid([40.0, 80.0], [85.0, 125.0]) == ["pleats lie over each other"]
    assert laid([40.0, 80.0], [85.0, 125.0], fold="tuck") == []
    assert laid([40.0, 80.0], [100.0, 140.0]) == []  # full: 20 mm deep, 20 mm apart
    outside = laid([40.0, 80.0], [120.0, 160.0], run="skirt.top from p0_1 to end")
    assert outside == ["pleat outside of its run"]
    off = replace(pleated().relations.pleats["pleats"], depth=15.0)
    (row,) = walk(
        replace(pleated(), relations=Relations(pleats={"pleats": off})), cut_lines=False
    ).of("pleats")
    # they take up 160 mm instead of 4 times 30
    assert row.verdict == "does not sew" and row.difference == pytest.approx(-40.0)


def test_an_edge_is_raised_with_its_pleats_folded() -> None:
    """The waist raised at its end, to nothing at the other: both legs of a pleat are as high."""
    pattern = pleated()
    edit = Raise(edge="skirt.top", by=Amount(mm=12.0), at="start", to=("end",))
    result = run(pattern, edit)
    piece = result.pattern.sized("skirt", "S")
    for k in range(4):
        legs = [piece.landmark(f"p{k}_{i}").point[1] for i in (0, 1)]
        assert legs[0] == pytest.approx(legs[1], abs=0.02)
    takes = np.diff(marks_of(result.pattern))[::2]
    assert takes == pytest.approx(4 * [40.0], abs=0.01)
    assert walk(result.pattern, cut_lines=False).sews


@pytest.mark.parametrize("sizes", [("36", "40"), ("40", "36")])
def test_a_blend_folds_them_anew(sizes: tuple[str, str]) -> None:
    """A back with a pleat of 6 mm in its waist, which is drawn anew: the pleat is as deep."""
    of = tiny_set()
    nest = {}
    for size in of.sizes:
        piece = of.sized("back", size)
        waist = piece.edge("waist")
        points = [point_at(waist.points, 0.3 * waist.length + away) for away in (0.0, 12.0)]
        marks = [Landmark(f"p{i}", "waist", (x, y), "notch") for i, (x, y) in enumerate(points)]
        nest[size] = replace(piece, landmarks=(*piece.landmarks, *marks))
    told = Pleats("pleats", parse_run("back.waist"), (PleatMarks("p", ("p0", "p1")),))
    pattern = replace(
        of,
        pieces={**of.pieces, "back": Piece("back", nest)},
        relations=replace(of.relations, pleats={"pleats": told}),
    )
    result = run(pattern, Blend({"waist": sizes[0], "hip": sizes[1]}))
    (size,) = result.pattern.sizes
    lies = folded_run(result.pattern.sized("back", size), told)
    assert result.sews and lies.taken_up == pytest.approx([12.0], abs=1e-5)
    plain = run(of, Blend({"waist": sizes[0], "hip": sizes[1]})).pattern
    assert result.pattern.sized("back", size).edges == plain.sized("back", size).edges
