"""Every edit is followed by truing: what ran on smoothly across a seam runs on after it.

Angles are judged on the two pieces laid seam on seam with shapely's affine motions and measured
with a fit of bare points; lengths are sums of chords.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from shapely import affinity

import propagate
from propagate import Amount, Blend, DrawEdge, Lower, NamedEdit, PatternSet, Revised, TakeIn
from propagate.cli.app import cli
from propagate.engine.record import EDIT, as_plain
from propagate.engine.walk import walk
from propagate.io.edits_toml import read_edits
from propagate.io.record_json import read_record
from propagate.pattern.model import Piece, SizedPiece
from propagate.report.revise_text import changed_corners, revised_lines
from tests.builders import tiny_set
from tests.engine import measure
from tests.engine.altered import in_other_frames, undo, with_other_first_edge
from tests.examples import examples, goes_on
from tests.shared import demo

SMOOTH_DEG = 1.0
"""What the engine promises of a corner."""
READ_DEG = 0.5
"""What two ways to read a direction from the same 15 mm may differ by."""
SEWS_MM = 0.05
FITTED = ("ferry_shirt", "lined_skirt", "puddle_pinafore", "quay_jeans")
"""Demo sets with a file of edits and seams with lines that cross them; the dress is the fifth."""

CLOSER = TakeIn(edge="front.side", by=Amount(mm=6.0), at="waist", to=("hip",), both=True)


def mm(value: float) -> Amount:
    return Amount(mm=value)


def edited(source: PatternSet, *edits: object, **options: object) -> Revised:
    named = [NamedEdit(str(i), edit) for i, edit in enumerate(edits)]
    return propagate.apply_edits(source, named, **options)


# -------------------------------------------------------------------- laid edge to edge


def leaving(points: np.ndarray) -> np.ndarray:
    """Unit direction in which a line leaves its first point."""
    angle = measure.end_tangent(points, "start")
    return np.array([np.cos(angle), np.sin(angle)])


def away(piece: SizedPiece, edge: str, corner: np.ndarray) -> np.ndarray:
    """An edge from a corner of its piece on."""
    points = piece.edge(edge).points
    first, last = (np.hypot(*(points[k] - corner)) for k in (0, -1))
    return points if first <= last else points[::-1]


def meeting(piece: SizedPiece, first: str, second: str) -> np.ndarray:
    """The corner of two edges."""
    ends = (piece.edge(name).points[[0, -1]] for name in (first, second))
    return min(itertools.product(*ends), key=lambda pair: float(np.hypot(*(pair[0] - pair[1]))))[0]


def kink(pattern: PatternSet, size: str, seam: str, end: str) -> float:
    """Degrees by which the line bends where it crosses a seam: both pieces lie as sewn.

    The follower is moved on to the lead, corner on corner and seam on seam; its own twin,
    turned over, where the seam is a mirror.
    """
    one = pattern.relations.seams[seam]
    twin = one.lead if one.mirror else one.follow
    lines, forward = [], []
    for run, key in zip((one.lead, twin), one.crossing[end], strict=True):
        span = run[0] if end == "start" else run[-1]
        piece = pattern.sized(span.piece, size)
        names = span.edge, key.partition(".")[2]
        corner = meeting(piece, *names)
        lines.append([away(piece, name, corner) for name in names])
        forward.append(bool((piece.edge(span.edge).points[0] == corner).all()))
    (seam_a, line_a), (seam_b, line_b) = lines
    if forward[0] == forward[1]:  # one of them lies face down, as the twin of a mirror does
        seam_b, line_b = seam_b * [-1.0, 1.0], line_b * [-1.0, 1.0]
    a, b = (np.arctan2(*leaving(side)[::-1]) for side in (seam_a, seam_b))
    laid = affinity.rotate(
        affinity.translate(shapely.LineString(line_b), *(seam_a[0] - seam_b[0])),
        float(a - b),
        origin=tuple(seam_a[0]),
        use_radians=True,
    )
    first, second = leaving(line_a), leaving(shapely.get_coordinates(laid))
    bend = np.arctan2(first[0] * second[1] - first[1] * second[0], first @ second)
    return float(180.0 - abs(np.degrees(bend)))


def corners_of(pattern: PatternSet) -> Iterator[tuple[str, str]]:
    for name, seam in pattern.relations.seams.items():
        yield from ((name, end) for end in seam.crossing)


# ------------------------------------------------------------------------- what is promised


@pytest.mark.parametrize("name", FITTED)
def test_after_the_edits_of_a_demo_set_every_line_runs_on_as_before(name: str) -> None:
    """In the outermost sizes; in every one of the shirt, and of all with the profile ``long``."""
    source = demo(name)
    said = propagate.read_edits(propagate.demo_path(name) / "edits.toml")
    every = goes_on() or name == "ferry_shirt"  # it has an ease by zones, which is of all sizes
    sizes = () if every else source.sizes[:: len(source.sizes) - 1]
    trued = propagate.apply_edits(source, said.edits, sizes=sizes, graded=said.graded)
    assert trued.sews
    told = 0
    for size, record in trued.records.items():
        for seam, end in corners_of(source):
            if kink(source, size, seam, end) <= SMOOTH_DEG - READ_DEG:
                assert kink(trued.pattern, size, seam, end) <= SMOOTH_DEG + READ_DEG
        for row in record.trued_corners:
            told += 1
            assert abs(row.before_deg - 180.0) > 0.1
            assert abs(row.after_deg - 180.0) < 0.1
            assert kink(trued.pattern, size, row.name, row.end) < READ_DEG
    assert (told == 0) == (name == "ferry_shirt")


def test_a_blend_by_level_leaves_no_peak_at_the_shoulder() -> None:
    """The waist of 34 between bust and hip of 48 leaves up to 9.5° where the shoulders meet."""
    source = demo("concert_dress")
    edit = propagate.BlendLevels({"bust": "48", "waist": "34", "hip": "48"})
    trued, left = (propagate.run(source, edit, corners=c) for c in ("trued", "left"))
    assert trued.sews
    size = trued.record.size
    off = {c: abs(kink(left.pattern, size, *c)) for c in corners_of(source)}
    assert max(off.values()) > 9.0
    for corner, was in off.items():
        assert abs(kink(trued.pattern, size, *corner)) < min(was, SMOOTH_DEG) + READ_DEG
    assert {(r.name, r.end) for r in trued.record.trued_corners} == {
        corner for corner, was in off.items() if was > SMOOTH_DEG + READ_DEG
    }
    for row, other in zip(trued.record.girths, left.record.girths, strict=True):
        assert (row.girth, row.size, row.ok) == (other.girth, other.size, other.ok)
    for row in trued.record.pieces:
        assert row.size in source.sizes


@pytest.mark.parametrize("name", ["slant_trouser", "quay_jeans", "scoop_skirt"])
def test_a_blend_that_solved_its_corners_leaves_nothing_to_do(name: str) -> None:
    source = demo(name)
    plan = source.relations.blend
    assert plan is not None
    first, last = source.sizes[0], source.sizes[2]
    result = propagate.blend(source, Blend({plan.upper: first, plan.lower: last}))
    assert not result.record.trued_corners
    assert "truing" not in {change.id for change in result.record.changes}


# ------------------------------------------------------------------------- a closed form


def test_a_waist_that_was_taken_in_alike_front_and_back_is_square_to_the_side() -> None:
    """Front and back alike, so that each line arrives square to the seam: 90° by symmetry."""
    trued, left = (edited(tiny_set(), CLOSER, corners=c).pattern for c in ("trued", "left"))
    for size in trued.sizes:
        assert abs(kink(left, size, "side_seam", "end")) > 3.0
        for piece in ("front", "back"):
            now = trued.sized(piece, size)
            corner = meeting(now, "waist", "side")
            waist, side = (leaving(away(now, name, corner)) for name in ("waist", "side"))
            assert np.degrees(np.arccos(waist @ side)) == pytest.approx(90.0, abs=READ_DEG)
            was = left.sized(piece, size)
            assert (now.edge("side").points == was.edge("side").points).all()
            old, new = (away(one, "waist", corner) for one in (was, now))
            far = measure.polyline_length(old) / 2 + 4.0  # a chord of the old line, at most
            beyond = {tuple(p) for p in old if np.hypot(*(p - corner)) > far}
            assert beyond
            assert beyond <= {tuple(p) for p in new}


@given(by=st.floats(0.3, 12.0), where=st.sampled_from(["front", "back"]), both=st.booleans())
@examples(5, deadline=None)
def test_whatever_is_taken_in_the_waist_runs_on_and_all_sews(
    by: float, where: str, both: bool
) -> None:
    source = tiny_set()
    edit = TakeIn(edge=f"{where}.side", by=mm(by), at="waist", to=("hip",), both=both)
    found = edited(source, edit)
    assert found.sews
    for size in source.sizes:
        assert abs(kink(found.pattern, size, "side_seam", "end")) < SMOOTH_DEG + READ_DEG
        assert abs(kink(found.pattern, size, "side_seam", "start")) < READ_DEG
        front, back = (
            measure.polyline_length(found.pattern.sized(p, size).edge("side").points)
            for p in ("front", "back")
        )
        assert abs(front - back) < SEWS_MM
    again = edited(found.pattern, edit, corners="left").pattern  # twice is once: nothing is left
    done = edited(found.pattern, replace(edit, by=mm(1e-4))).records
    assert not any(record.trued_corners for record in done.values())
    assert again.sizes == source.sizes


# ----------------------------------------------------------------------- what is left alone


def peaked(source: PatternSet, *ends: str) -> PatternSet:
    seam = replace(source.relations.seams["side_seam"], peak=ends)
    relations = replace(source.relations, seams={**source.relations.seams, "side_seam": seam})
    return replace(source, relations=relations)


def alike(one: PatternSet, other: PatternSet) -> bool:
    return all(
        one.sized(piece, size) == other.sized(piece, size)
        for piece in one.pieces
        for size in one.sizes
    )


def test_a_peak_that_the_set_wants_stays_and_so_does_one_that_was_there() -> None:
    left = edited(tiny_set(), CLOSER, corners="left").pattern
    assert alike(edited(peaked(tiny_set(), "end"), CLOSER).pattern, left)
    more = edited(left, CLOSER, corners="left").pattern
    assert alike(edited(left, CLOSER).pattern, more)  # left of 3° and more: it was no line
    assert not alike(edited(tiny_set(), CLOSER).pattern, left)


def test_an_edit_that_disturbs_no_corner_changes_not_a_digit_more() -> None:
    source = tiny_set()
    edit = propagate.Lengthen(level="hip", by=mm(20.0))
    assert alike(edited(source, edit).pattern, edited(source, edit, corners="left").pattern)


def test_a_line_that_was_drawn_stays_and_its_mate_takes_all() -> None:
    source = tiny_set()
    draw = DrawEdge(edge="front.waist", through=("50%:-14mm",))
    left, trued = (edited(source, draw, corners=c) for c in ("left", "trued"))
    assert abs(kink(left.pattern, "38", "side_seam", "end")) > SMOOTH_DEG + READ_DEG
    assert trued.pattern.sized("front", "38") == left.pattern.sized("front", "38")
    assert trued.pattern.sized("back", "38") != left.pattern.sized("back", "38")
    assert abs(kink(trued.pattern, "38", "side_seam", "end")) < READ_DEG
    both = edited(source, draw, DrawEdge(edge="back.waist", through=("50%:-14mm",)))
    record = both.records["38"]
    assert not record.trued_corners
    (told,) = [n for n in record.warnings if "was not trued" in n.text]
    assert told.where == "side_seam"
    assert "not drawn as it is to be" in told.text


def test_a_revised_piece_stays_as_it_was_sent() -> None:
    source = tiny_set()
    closer = edited(source, replace(CLOSER, both=False), corners="left").pattern
    sent = {"front": Piece("front", {"38": closer.sized("front", "38")})}
    trued, left = propagate.revise(source, sent, corners="trued"), propagate.revise(source, sent)
    for size in source.sizes:
        was, now = (found.pattern.sized("front", size) for found in (left, trued))
        assert was == now
        assert abs(kink(trued.pattern, size, "side_seam", "end")) < SMOOTH_DEG + READ_DEG
    assert any(record.trued_corners for record in trued.records.values())
    assert trued.sews


def test_where_there_is_no_room_it_is_told_and_all_else_stands() -> None:
    """A peak of more than 30° is no line that was meant to run on."""
    edit = Lower(edge="back.waist", by=mm(90.0), at="end", to=("start",), taper="straight")
    source = demo("slant_trouser")
    trued, left = (edited(source, edit, sizes=["42"], corners=c) for c in ("trued", "left"))
    assert abs(kink(left.pattern, "42", "centre_back", "start")) > 30.0
    record = trued.records["42"]
    assert any(n.where == "centre_back" and "was not trued" in n.text for n in record.warnings)
    assert trued.pattern.sized("back", "42").edge("centre") == left.pattern.sized(
        "back", "42"
    ).edge("centre")


# ------------------------------------------------------------ names, order, direction, frame


def renamed(pattern: PatternSet) -> PatternSet:
    """The seam written from the other side, and walked from its other end."""
    seam = pattern.relations.seams["side_seam"]

    def turned(run: tuple) -> tuple:
        return tuple(replace(s, begin=s.end, end=s.begin) for s in run[::-1])

    ends = {"start": "end", "end": "start"}
    other = replace(
        seam,
        lead=turned(seam.follow),
        follow=turned(seam.lead),
        crossing={ends[end]: (b, a) for end, (a, b) in seam.crossing.items()},
        notches=tuple((b, a) for a, b in seam.notches),
    )
    seams = {**pattern.relations.seams, "side_seam": other}
    return replace(pattern, relations=replace(pattern.relations, seams=seams))


FRAMES = {("back", size): (0.7, 900.0, -250.0) for size in ("36", "38", "40")}


@pytest.mark.parametrize(
    "other",
    [
        renamed,
        lambda source: in_other_frames(source, FRAMES),
        lambda source: with_other_first_edge(source, {"front": 2, "back": 1}),
    ],
    ids=["other side leads", "other frame", "other first edge"],
)
def test_the_answer_does_not_hang_on_the_way_in_which_a_set_is_written(other) -> None:
    source = tiny_set()
    first, second = edited(source, CLOSER).pattern, edited(other(source), CLOSER).pattern
    framed = other(source).sized("back", "38").outline.max() > 500.0
    back = undo(*FRAMES["back", "38"]) if framed else np.asarray
    for piece, place in (("front", np.asarray), ("back", back)):
        for size in source.sizes:
            for edge in first.sized(piece, size).edges:
                there = place(second.sized(piece, size).edge(edge.name).points)
                assert measure.farthest_apart(edge.points, there) < 0.01


# ------------------------------------------------------------------------------- the record


def test_the_record_tells_every_corner_once_with_what_it_was_first() -> None:
    found = edited(tiny_set(), CLOSER, replace(CLOSER, by=mm(2.0)))
    left = edited(tiny_set(), CLOSER, replace(CLOSER, by=mm(2.0)), corners="left")
    for size, record in found.records.items():
        (row,) = record.trued_corners
        assert (row.name, row.end) == ("side_seam", "end")
        bend = abs(kink(left.pattern, size, "side_seam", "end"))
        assert abs(row.before_deg - 180.0) == pytest.approx(bend, abs=READ_DEG)
        went = [
            measure.farthest_apart(
                *(p.sized(piece, size).edge("waist").points for p in (left.pattern, found.pattern))
            )
            for piece in ("front", "back")
        ]
        assert row.shift_mm == pytest.approx(max(went), abs=0.02)
        walked = [c for c in record.walked_corners if (c.name, c.end) == ("side_seam", "end")]
        assert len(walked) == 1  # of an earlier edit nothing is left
        chain = record.chain("back.waist")
        assert chain[-1].id == EDIT
        assert record.edit["kind"] == "edits"
        kinds = {change.id: change.kind for change in record.changes}
        assert kinds["truing"] == "trued"
    text = " ".join(" ".join(revised_lines(found)).split())
    assert "Corners that were trued" in text
    assert "now 180.0°" in text
    assert "as well in every other size" in text


def test_two_edits_that_true_are_one_row() -> None:
    true = propagate.TrueEdge(edge="front.waist")
    found = edited(tiny_set(), CLOSER, true, CLOSER, replace(true, alone=True))
    (row,) = found.records["38"].trued_corners
    once = edited(tiny_set(), CLOSER, true).records["38"].trued_corners[0]
    assert row.before_deg == once.before_deg
    assert abs(row.after_deg - 180.0) < 0.1


def test_the_record_is_read_as_it_was_written(tmp_path: Path) -> None:
    record = edited(tiny_set(), CLOSER).records["38"]
    plain = {"format": 1, **as_plain(record)}
    schema = Path(propagate.__file__).parent / "io" / "schema" / "record.schema.json"
    Draft202012Validator(json.loads(schema.read_text())).validate(plain)
    again = read_record(json.dumps(plain), "record.json")
    (one,), (other,) = record.trued_corners, again.trued_corners
    assert as_plain(one) == as_plain(other)


def test_a_file_and_an_option_leave_the_corners(tmp_path: Path, capsys) -> None:
    text = (
        'format = 1\n{}[[edit]]\ndo = "take-in"\nedge = "full_front.side"\nby = "10mm"\n'
        'at = "waist"\nto = "hip"\nboth = true\n'
    )
    file = tmp_path / "edits.toml"
    path = str(propagate.demo_path("slant_trouser"))
    for key, option, trued in (
        ("", (), True),
        ('corners = "left"\n', (), False),
        ('corners = "left"\n', ("--corners", "trued"), True),
        ("", ("--corners", "left"), False),
    ):
        file.write_text(text.format(key))
        cli.main(["apply", path, str(file), "--sizes", "42", *option], standalone_mode=False)
        assert ("Corners that were trued" in capsys.readouterr().out) is trued


def test_a_corner_that_was_trued_is_told_with_the_angle_that_it_has() -> None:
    """The waist bends and no line of the side seam does: its row is walked again all the same."""
    home = propagate.demo_path("lined_skirt")
    edits = read_edits(home / "edits.toml").edits
    found = propagate.apply_edits(demo("lined_skirt"), edits)
    record = found.records["12"]
    now = {(row.name, row.end): row for row in walk(found.pattern, "12").of("corner")}
    assert {(row.name, row.end) for row in record.trued_corners} <= set(now)
    for row in record.walked_corners:
        assert row == now[row.name, row.end]
    assert changed_corners(record, found.pattern) == []
