"""A drawing whose coordinates were rounded is laid where it lay, or it is told that none can know.

The frame that a drawing was sent in is known here, so the truth is: nothing was turned.
A point that is rounded to a grid lies half a diagonal of it away at most.
"""

from __future__ import annotations

import cmath
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from propagate.engine.revise import revise
from propagate.engine.revising.register import Registered, register
from propagate.geometry.grid import find_grid
from propagate.geometry.motion import Motion
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Piece, SizedPiece
from tests.revise.tiny_edits import Tiny, drawn
from tests.shared import demo
from tests.suggesting.garment_drafts import harbour_shirt

FRAME = (103.37, -57.11)


def send(piece: SizedPiece, step: float, turn: float) -> tuple[SizedPiece, Motion]:
    """The piece as a file of so many decimals has it, in another frame; and that frame."""
    frame = Motion(cmath.exp(1j * turn), complex(*FRAME))

    def put(points: npt.ArrayLike) -> npt.NDArray[np.float64]:
        moved: npt.NDArray[np.float64] = np.round(frame.apply(points) / step) * step
        return moved

    (a, b), (c, d) = put([piece.grain.start, piece.grain.end]).tolist()
    marks = tuple(
        replace(mark, point=tuple(put([mark.point])[0].tolist())) for mark in piece.landmarks
    )
    edges = tuple(Edge(edge.name, put(edge.points)) for edge in piece.edges)
    bare = replace(piece, edges=edges, landmarks=marks, grain=Grain((a, b), (c, d)), darts=())
    return replace(bare, lines=(), drills=(), label=None), frame


def measure_off(piece: SizedPiece, found: Registered, frame: Motion, kept: list[str]) -> float:
    """How far the edges that were not changed come to lie from where they were, mm."""
    back = found.motion.after(frame)
    return max(
        float(np.hypot(*(back.apply(piece.edge(name).points) - piece.edge(name).points).T).max())
        for name in kept
    )


CASES = [
    # each was laid 0.02 to 12 mm off: one straight edge agreed by chance better than all others
    ("slant_trouser", Tiny("fly_extension", "centre", "across", -12.0)),
    ("scoop_skirt", Tiny("belt", "lap_end", "bump", -1.0)),
    ("lined_skirt", Tiny("front", "hem", "parallel", 1.0)),
    ("concert_dress", Tiny("front_facing", "shoulder", "across", 5.0)),
    ("lined_skirt", Tiny("lining_back", "centre", "parallel", 12.0)),
    ("market_bag", Tiny("facing", "sewn", "bump", 5.0)),
    ("scoop_skirt", Tiny("skirt_front", "fold_line", "across", 0.3)),
]


@pytest.mark.parametrize("turn", [0.4, 1.0, 2.2, 4.0])
@pytest.mark.parametrize("step", [0.01, 0.1])
@pytest.mark.parametrize(("name", "edit"), CASES, ids=[f"{n} {e}" for n, e in CASES])
def test_what_was_not_changed_lies_within_the_rounding(
    name: str, edit: Tiny, step: float, turn: float
) -> None:
    pattern = demo(name)
    piece = pattern.sized(edit.piece, pattern.base)
    new = drawn(piece, edit)
    kept = [e.name for e in piece.edges if np.array_equal(new.edge(e.name).points, e.points)]
    sent, frame = send(new, step, turn)
    found = register(piece, sent, tolerance=max(0.05, step))
    unknown = any("which moved" in text for text, _ in found.notices)
    assert unknown or measure_off(piece, found, frame, kept) < step
    if not unknown:
        assert {status for edge, status in found.statuses if edge in kept} == {"same"}


def test_a_wrist_of_whole_millimetres_is_not_all_that_a_sleeve_is_laid_by() -> None:
    """Its cap, of four decimals, lay where it lay; the sleeve was laid upside down by its wrist."""
    pattern = harbour_shirt()
    piece = pattern.sized("sleeve", pattern.base)
    sent, _ = send(drawn(piece, Tiny("sleeve", "wrist", "parallel", 8.0)), 1e-4, 0.0)
    assert dict(register(piece, sent).statuses)["cap"] == "same"


def test_a_band_made_wider_is_told_once_it_lies_elsewhere() -> None:
    pattern = demo("slant_trouser")
    band = pattern.sized("waistband", pattern.base)
    wider = drawn(band, Tiny("waistband", "lower", "parallel", 12.0))
    sent, _ = send(wider, 1e-9, 1.0)
    (text, _), *_ = register(band, sent).notices
    assert "'lower' and 'upper'" in text and "taken to have stayed" in text
    assert register(band, wider).notices == ()


def test_the_step_of_the_decimals_is_told_and_taken() -> None:
    """Nothing was changed, and every point lies up to 0.07 mm off."""
    pattern = demo("ferry_shirt")
    sent, _ = send(pattern.sized("front", pattern.base), 0.1, 0.7)
    found = revise(pattern, {"front": Piece("front", {pattern.base: sent})})
    assert found.within == pytest.approx(0.1)
    assert {edge.status for edge in found.edges} == {"same"}
    texts = [notice.text for notices in found.notices.values() for notice in notices]
    assert any("rounded to 0.1 mm" in text for text in texts)
    narrow = revise(pattern, {"front": Piece("front", {pattern.base: sent})}, tolerance=0.01)
    assert narrow.within == 0.01 and narrow.changed


@pytest.mark.parametrize(
    "step", [0.1, 0.01, 0.001, 25.4 / 100, 25.4 / 1000, 25.4 / 96, 25.4 / 720, 25.4 / 7200]
)
def test_the_grid_is_found_wherever_it_begins(step: float) -> None:
    """An inch has 96 px (CSS Values and Units, level 3, 6.2) and 72 pt."""
    rng = np.random.default_rng(4)
    for _ in range(50):
        points = step * rng.integers(-90_000, 90_000, (6, 2)) + rng.uniform(-500, 500, 2)
        assert find_grid(points) == pytest.approx(step)
    assert find_grid(rng.uniform(-500, 500, (6, 2))) == 0.0
    assert find_grid(np.array([[0.0, 0.0], [1.0, 1.0]])) == 0.0
