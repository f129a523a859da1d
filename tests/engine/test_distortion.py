"""All sews is not all is well: what changed in shape without anybody asking for it is told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import propagate
from propagate.demo import MAIN_JOBS
from propagate.engine.applying import apply_edits
from propagate.engine.distortion.inside import inside_changes
from propagate.engine.distortion.levels import tell_widths
from propagate.engine.distortion.outline import outline_changes, width_changes
from propagate.engine.record import PieceChange
from propagate.engine.revise import revise
from propagate.io.edits_toml import read_edits
from propagate.pattern.model import InternalLine, Mark, Piece, SizedPiece
from tests import builders
from tests.engine import measure
from tests.engine.following.test_by_hand import panel, seam, sent, sewn
from tests.engine.test_corners_that_follow import _piece
from tests.revise.test_pocket_mouth import moved, names
from tests.shared import blend_edit, demo, demo_in_few


def strip(drop: float = 0.0, slant: float = 0.0, wide: float = 50.0) -> SizedPiece:
    """A strip 300 mm long; `drop` sinks the right end of its upper edge."""
    return _piece(
        ("low", np.array([(0.0, 0.0), (300.0, 0.0)])),
        ("right", np.array([(300.0, 0.0), (300.0 + slant, wide - drop)])),
        ("top", np.array([(300.0 + slant, wide - drop), (0.0, wide)])),
        ("left", np.array([(0.0, wide), (0.0, 0.0)])),
    )


def said(notices, where: str) -> str:
    return "\n".join(n.text for n in notices if n.where == where)


def test_a_panel_that_became_a_trapezoid_is_told_first() -> None:
    """The lead is 8 mm shorter; the panel's sides go askew by atan(8 / 600), 0.76 degrees."""
    pattern = sewn(
        {"bodice": panel(), "skirt": panel()}, seam("join", "bodice.waist", "skirt.waist")
    )
    found = sent(pattern, "bodice", panel(waist=8.0))
    assert found.sews
    text = said(found.records["M"].warnings, "skirt")
    assert "'side' and 'centre', which were parallel, now lie 0.8° askew" in text
    assert found.records["M"].warnings[0].where == "skirt"


def test_an_edge_that_changed_and_is_sewn_to_nothing_is_told() -> None:
    """The side was taken in and nobody said what is sewn to it."""
    pattern = sewn({"front": panel(), "back": panel()}, seam("join", "front.waist", "back.waist"))
    text = said(sent(pattern, "front", panel(low=12.0)).records["M"].warnings, "front")
    assert "'front.side' is 12.0 mm longer now, and nothing is sewn to it" in text


def test_a_facing_that_became_narrower() -> None:
    ((text, _, about),) = width_changes(strip(), strip(drop=15.0))
    assert about[0] == "width changed"
    assert "'low' and 'top', which was 50.0 mm, is now" in text
    low, high = (float(w) for w in text.split("is now ")[1].removesuffix(" mm").split(" to "))
    # By hand: the upper edge sinks evenly from 50 to 35 mm; the ends of it are not looked at.
    assert 35.0 < low < 38.0 and 48.0 < high <= 50.0
    assert not list(width_changes(strip(), strip(drop=1.0)))
    assert not list(width_changes(panel(), panel(waist=8.0))), "a panel is no strip"


def test_symmetry_edges_and_ends_of_strips() -> None:
    texts = [text for text, _, _ in outline_changes(strip(), strip(slant=10.0))]
    assert any("no longer mirror" in text for text in texts)
    assert any("'right' and 'left', which were parallel" in text for text in texts)
    (text,) = (t for t, _, _ in outline_changes(strip(), strip(wide=70.0)) if "'right'" in t)
    assert "from 50.0 to 70.0 mm" in text


def test_lines_and_marks_inside() -> None:
    old = replace(
        strip(),
        lines=(InternalLine("style", np.array([(100.0, 0.0), (100.0, 50.0)])),),
        drills=(Mark("button", (280.0, 25.0)),),
    )
    new = replace(strip(drop=15.0), lines=old.lines, drills=(Mark("button", (294.0, 25.0)),))
    texts = [text for text, _, _ in inside_changes(old, new)]
    assert any("line 'style' ended on the outline and now ends 5.0 mm off it" in t for t in texts)
    assert any("mark 'button' came within 6.0 mm" in text for text in texts)
    assert not list(inside_changes(old, old))


@pytest.mark.parametrize("name", propagate.demo_names())
def test_ordinary_blends_are_silent(name: str) -> None:
    """Neighbouring sizes of the demo sets: nothing is distorted."""
    pattern = demo(name)
    plan, (upper, lower) = pattern.relations.blend, pattern.sizes[1:3]
    levels = list(MAIN_JOBS[name])[:2] if plan is None else (plan.upper, plan.lower)
    edit = blend_edit(pattern, dict(zip(levels, (upper, lower), strict=True)))
    texts = [notice.text for notice in propagate.run(pattern, edit).record.warnings]
    assert not [text for text in texts if "nobody" in text or "nothing is sewn" in text]


def test_a_width_that_no_girth_measures_is_told() -> None:
    front = replace(panel(), levels={"bust": (0.0, 450.0)})
    pattern = sewn({"front": front, "back": panel()}, seam("side", "front.side", "back.side"))
    wider = replace(panel(top=200.0, waist=-40.0), levels=front.levels)
    text = said(sent(pattern, "front", wider).records["M"].warnings, "bust")
    # By hand: 40 mm at the top, 600 mm up; at 450 mm three quarters of it.
    assert "'front' is 30.0 mm wider" in text


PINNED = ("front", "facing", "top_bag")


def widths_told(pattern, new) -> list[str]:
    """What is told of the widths of a pocket skirt of which pieces were drawn anew."""
    column = replace(new, sizes=("38",), base="38")
    changes = [PieceChange(name, "38", "reshaped", "drawn") for name in PINNED]
    return [f"{notice.where}: {notice.text}" for notice in tell_widths(pattern, column, changes)]


def mid_level(pattern, y: float = -60.0):
    """The pocket skirt with a level through the pocket, on the front and on what lies there."""
    for name, away in (("front", 0.0), ("facing", 300.0)):
        sized = pattern.sized(name, "38")
        levels = {**sized.levels, "mid": (away, y)}
        pattern = builders.with_sized(pattern, name, "38", replace(sized, levels=levels))
    return pattern


def test_a_mouth_that_moved_is_no_change_of_a_width(monkeypatch: pytest.MonkeyPatch) -> None:
    """Front and facing lose and gain the same along the level: 15 mm at both of their waists."""
    pattern = mid_level(builders.pocket_set())
    monkeypatch.setattr(builders, "MOUTH_IN", builders.MOUTH_IN + 15.0)
    new = mid_level(builders.pocket_set())
    front = [measure.taped(s, "front", "38") for s in (pattern, new)]
    assert abs(front[1].width("mid") - front[0].width("mid")) > 5.0
    full = [measure.taped(s, "full_front", "38").width("mid") for s in (pattern, new)]
    assert full[1] == pytest.approx(full[0], abs=1e-6)
    assert widths_told(pattern, new) == []


def test_a_side_let_out_on_the_facing_alone_is_a_change_of_the_whole_front() -> None:
    pattern = mid_level(builders.pocket_set())
    side = np.array(pattern.sized("facing", "38").edge("side").points)
    low, high = builders.MOUTH_LOW_Y, side[-1][1]
    share = np.clip((side[:, 1] - low) / (high - low), 0.0, 1.0)
    side[:, 0] += 6.0 * np.sin(np.pi * share) ** 2
    new = builders.with_edge(pattern, "facing", "38", "side", side)
    (text,) = (text for text in widths_told(pattern, new) if text.startswith("mid: "))
    # By hand: the bulge where the side crosses the level, 60 mm down of 130.
    gain = 6.0 * np.sin(np.pi * (-60.0 - low) / (high - low)) ** 2
    assert f"'full_front' is {gain:.1f} mm wider" in text


@pytest.mark.parametrize("name", ["slant_trouser", "scoop_skirt"])
def test_a_revised_mouth_is_not_told_as_a_width(name: str) -> None:
    pattern = demo(name)
    main, _ = names(pattern)
    for along in (10.0, -10.0):
        found = revise(pattern, {main: Piece(main, {pattern.base: moved(pattern, along)})})
        for record in found.records.values():
            assert not [n.text for n in record.warnings if "no girth of the set measures" in n.text]


def test_what_several_edits_changed_is_told_once_by_what_it_comes_to() -> None:
    # Both sides of the panels are let out by 10 mm: 20 mm by hand.  The gusset follows the first
    # edit and is edited by the last, so nobody can say that nobody did.
    edits = read_edits(propagate.demo_path("market_bag") / "edits.toml").edits
    found = apply_edits(demo_in_few("market_bag"), edits)
    for record in found.records.values():
        told = [notice.text for notice in record.warnings]
        wider = [text for text in told if "no girth of the set measures" in text]
        assert len(wider) == 3
        assert all("'back' is 20.0 mm wider, 'front' is 20.0 mm wider" in text for text in wider)
        assert not [text for text in told if "nobody edited it" in text]


def test_a_piece_is_not_told_wider_at_a_hem_that_it_keeps() -> None:
    # Lengthened above the hem, which is moved as it is, 3.7 mm of curve below its level.
    edits = read_edits(propagate.demo_path("concert_dress") / "edits.toml").edits
    found = apply_edits(demo_in_few("concert_dress"), edits)
    for record in found.records.values():
        assert not [n for n in record.warnings if n.where == "hem"]
