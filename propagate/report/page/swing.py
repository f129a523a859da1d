"""What became of an opening, step by step: where it lay, its swing, each layer in its new seat."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import numpy.typing as npt
import shapely
from markupsafe import Markup

from propagate.engine.rows import OpeningRow
from propagate.geometry.motion import Motion, fit
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Opening
from propagate.pattern.titles import in_sentence, name_title, piece_title, say_turn
from propagate.report.page.drawn import View, write_scene
from propagate.report.page.pieces import PieceView
from propagate.report.page.subject import Subject
from propagate.report.scene.items import Dot, Item, Role, Scene, areas_of, arrow_head, make_line
from propagate.report.scene.piece import grain_up
from propagate.values import dataclass

__all__ = ["STEP_WORDS", "swing_steps"]

Array = npt.NDArray[np.float64]

_ARC = 0.62
"""Radius of the arc of the swing, of the opening's length."""
_AROUND = 0.12
"""Shown beyond the lines, of their extent."""
_SMALL_DEG = 0.05
STEP_WORDS = {
    Role.BEYOND: "the piece now",
    Role.LANDMARK: "the pin",
    Role.DIMENSION: "the swing",
    Role.SEAM: "seam line now",
}
"""What the legend of the steps says of roles."""


@dataclass(frozen=True)
class SwingStep:
    """One drawing of the row, all of the same part of the piece, and what is done in it."""

    said: str
    view: View
    scene: Scene
    drawing: Markup


def swing_steps(
    subject: Subject, row: OpeningRow, views: Mapping[str, PieceView]
) -> list[SwingStep]:
    """Draw an opening where it lay, turned about its end, and each layer that goes with it."""
    opening = subject.pattern.relations.openings[row.opening]
    main = subject.sized(opening.piece)
    up = grain_up(main)
    steps = [
        *_opening_steps(subject, row, opening, main),
        *_layer_steps(subject, opening, main, views),
    ]
    shown = Scene(tuple(i for _, scene in steps for i in scene.items)).placed(1.0, up.apply)
    low, high = shown.bounds()
    margin = float((high - low).max()) * _AROUND
    low, high = low - margin, high + margin
    window = shapely.box(*low, *high)
    edges = (make_line(Role.BEYOND, edge.points, edge.name) for edge in main.edges)
    face = areas_of(Role.FACE, shapely.Polygon(main.outline))
    back = Scene((*face, *edges)).placed(1.0, up.apply).clipped(window)
    view = View(float(low[0]), -float(high[1]), *map(float, high - low))
    found = []
    for said, scene in steps:
        whole = back + scene.placed(1.0, up.apply)
        found.append(SwingStep(said, view, whole, write_scene(whole, within=0.05)))
    return found


def _opening_steps(
    subject: Subject, row: OpeningRow, opening: Opening, main: SizedPiece
) -> Iterator[tuple[str, Scene]]:
    across = in_sentence(name_title(subject.pattern, opening.across, opening.silhouette))
    side = in_sentence(name_title(subject.pattern, opening.side, opening.silhouette))
    now = np.array(main.edge(opening.edge).points)
    if opening.across_end == "end":
        now = now[::-1]
    pin = now[0]
    old = pin + Motion(np.exp(-1j * np.radians(row.swing_deg))).apply(now - pin)
    before = make_line(Role.BEFORE, old, opening.edge)
    hinge = Dot(Role.LANDMARK, pin, 2.0, filled=True)
    said = f"The opening as in size {row.size}, its end on the {across} pinned"
    if abs(row.swing_deg) < _SMALL_DEG:
        yield f"{said}. It lies as it was turned before.", Scene((make_line(Role.SEAM, now), hinge))
        return
    yield f"{said}.", Scene((before, hinge))
    reach = subject.unit.said(row.moved_mm)
    # The arc of the swing with an arrow head, and both directions of the opening.
    radius = float(np.hypot(*(now[-1] - pin))) * _ARC
    end = float(np.arctan2(*(now[-1] - pin)[::-1]))
    angles = np.linspace(end - np.radians(row.swing_deg), end, 24)
    arc = pin + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    way = np.array([-np.sin(end), np.cos(end)]) * np.sign(row.swing_deg)
    head = min(9.0, radius * abs(float(np.radians(row.swing_deg))) / 2)
    swing: list[Item] = [
        *(make_line(Role.LEADER, [pin, ends[-1]]) for ends in (old, now)),
        make_line(Role.DIMENSION, arc),
        arrow_head(Role.DIMENSION, arc[-1], way, head),
    ]
    yield (
        f"It swings about the pin by {say_turn(row.swing_deg)}, until its other end meets the new "
        f"{side}; that end moves by {reach}. Its length stays.",
        Scene((before, make_line(Role.SEAM, now, opening.edge), *swing, hinge)),
    )


def _layer_steps(
    subject: Subject, opening: Opening, main: SizedPiece, views: Mapping[str, PieceView]
) -> Iterator[tuple[str, Scene]]:
    """Yield each layer laid behind the opening: its line before, what is taped on and trimmed."""
    stack = subject.pattern.relations.stack_of.get(opening.name)
    for layer in stack.layers if stack is not None else ():
        change = subject.shown.get(layer.piece)
        if change is None:
            continue
        piece = subject.sized(layer.piece)
        laid, _ = fit(
            [piece.landmark(own).point for own, _ in layer.put],
            [main.landmark(theirs).point for _, theirs in layer.put],
            face_down=layer.face_down,
        )
        motion = laid.after(grain_up(piece).inverse())
        scene = views[layer.piece].scene
        shown = Scene(scene.of(Role.FACE, Role.TAPE_ON, Role.TRIM, Role.BEFORE, Role.SEAM))
        said = f"{piece_title(subject.pattern, layer.piece)} goes with the opening and changes"
        words = "; ".join(views[layer.piece].figures)
        yield f"{said}: {words}.", shown.placed(1.0, motion.apply)
