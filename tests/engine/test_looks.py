"""What sews but came to be off is told; marks that are measured from an end stay as far from it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import propagate
from propagate import Amount
from propagate.engine.applying import NamedEdit, apply_edits
from propagate.engine.edits.lengthen import Lengthen, Shorten
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.revised import Revised
from propagate.geometry.polyline import length
from propagate.pattern.model import SizedPiece
from tests.engine.following.test_by_hand import panel, seam, sewn
from tests.shared import demo


def done(name: str, edit: SizedEdit, size: str) -> Revised:
    return apply_edits(demo(name), [NamedEdit("one", edit)], sizes=(size,))


def up_to_corner(piece: SizedPiece, edge: str, mark: str) -> float:
    """Mm from a mark to the end of its edge, by the points of the line alone."""
    points = piece.edge(edge).points
    at = np.asarray(piece.landmark(mark).point)
    a, b = points[:-1], points[1:]
    along = np.clip(((at - a) * (b - a)).sum(axis=1) / ((b - a) ** 2).sum(axis=1), 0.0, 1.0)
    off = np.hypot(*(a + along[:, None] * (b - a) - at).T)
    k = int(np.argmin(off))
    assert off[k] < 1e-3
    rest = np.vstack([at, points[k + 1 :]])
    return float(np.hypot(*np.diff(rest, axis=0).T).sum())


@pytest.mark.parametrize("by", [2.2, 22.0, -12.0])
def test_a_fly_is_as_long_as_it_was_when_the_hip_above_its_end_is_cut(by: float) -> None:
    """The notch is anchored to the waist: the pieces that are sewn there keep their length."""
    kind = Lengthen if by > 0 else Shorten
    new = done("quay_jeans", kind(level="hip", by=Amount(mm=abs(by))), "32").pattern
    fly = up_to_corner(new.sized("front", "32"), "centre", "fly_notch")
    assert fly == pytest.approx(
        length(demo("quay_jeans").sized("fly_shield", "32").edge("centre").points), abs=0.05
    )


def test_an_anchored_notch_that_marks_the_cut_level_goes_with_it() -> None:
    """The scoop skirt's seat notch is counted up from the foot, and stays at the seat."""
    new = done("scoop_skirt", Lengthen(level="seat", by=Amount(mm=10.0)), "M").pattern
    piece = new.sized("skirt_front", "M")
    assert piece.landmark("seat_notch").point[1] == pytest.approx(piece.levels["seat"][1], abs=5.01)
    was = demo("scoop_skirt").sized("skirt_front", "M")
    longer = up_to_corner(piece, "flank", "seat_notch") - up_to_corner(was, "flank", "seat_notch")
    assert longer == pytest.approx(5.0, abs=0.1)


def test_a_seam_that_is_only_walked_is_told_when_it_came_to_be_off() -> None:
    """By how much it is off in the end, after the corners were trued, too."""
    found = done("lined_skirt", Lengthen(level="waist", by=Amount(mm=13.4)), "8")
    front, back = (
        found.pattern.sized(f"lining_{one}", "8").edge("side") for one in ("front", "back")
    )
    off = length(back.points) - length(front.points)
    assert 0.5 < abs(off) < 1.5
    record = found.records["8"]
    told = [notice.text for notice in record.warnings if notice.where == "lining_side"]
    assert len(told) == 1
    assert f"{abs(off):.2f} mm apart" in told[0] and "only walked" in told[0]


def test_what_was_off_before_is_not_told_again() -> None:
    """The seam is drawn 0.9 mm off, and both of its sides become longer alike."""
    pattern = two(0.9)
    for kind in (Lengthen, Shorten):
        record = propagate.run(pattern, kind(level="hip", by=Amount(mm=20.0))).record
        rows = [row for row in record.seams if row.kind == "seam"]
        assert [row.verdict for row in rows] == ["look"]
        assert "side" not in {notice.where for notice in record.warnings}
    off = propagate.run(two(0.0), Lengthen(level="hip", by=Amount(mm=0.9), pieces=("front",)))
    assert [row.verdict for row in off.record.seams if row.kind == "seam"] == ["look"]
    assert "side" in {notice.where for notice in off.record.warnings}


def two(off: float) -> propagate.PatternSet:
    """Two upright panels that are sewn at the side and only walked; the back is higher by `off`."""
    levels = {"hip": (0.0, 300.0), "waist": (0.0, 600.0)}
    front, back = (replace(panel(top=200.0), levels=levels) for _ in range(2))
    edges = tuple(
        replace(edge, points=np.where(edge.points > 599.0, edge.points + off, edge.points))
        for edge in back.edges
    )
    side = seam("side", "front.side", "back.side", ease=0.0, tolerance=1.5)
    return sewn({"front": front, "back": replace(back, edges=edges)}, replace(side, check=True))


def test_a_follower_edited_alone_within_what_is_allowed_is_told() -> None:
    found = done("slant_trouser", Lengthen(level="knee", by=Amount(mm=0.9), pieces=("back",)), "42")
    record = found.records["42"]
    rows = {row.relation for row in record.seams if row.kind == "seam" and row.verdict == "look"}
    assert rows
    assert rows <= {notice.where for notice in record.warnings}


def test_a_derived_piece_has_no_two_points_in_one_place() -> None:
    """A parallel to a dart's closed line had two vertices a nanometre apart."""
    new = done("lined_skirt", Lengthen(level="waist", by=Amount(mm=13.4)), "16").pattern
    for name in ("fusible_back", "fusible_front", "facing_back"):
        for edge in new.sized(name, "16").edges:
            assert np.hypot(*np.diff(edge.points, axis=0).T).min() > 1e-6
