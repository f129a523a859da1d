# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""Lay the opening and re-seat the stack: the pin, the circle, the landing, the layers."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from before_after import caption
from demo import UPPER, full_front, result, trousers, upright
from drawing import STRESS, Frame, Picture, composed, lines_of, piece_of

from propagate.engine.tape import Silhouette
from propagate.geometry.motion import fit
from propagate.geometry.polyline import between, length, locate
from propagate.pattern.relations import StackLayer
from propagate.report.scene.items import Role, Scene
from propagate.report.scene.piece import piece_before
from propagate.report.style import PALE, Stroke

__all__ = ["opening", "stack"]

Array = npt.NDArray[np.float64]

RIGID, RUN = STRESS
OUTLINES = (Role.FACE, Role.TAPE_ON, Role.TRIM, Role.BEFORE, Role.SEAM)


def _result_front() -> Silhouette:
    return full_front(result().pattern, result().record.size)


def opening(folder: Path) -> None:
    """Draw how the rigid opening swings about its upper end onto the new side."""
    picture = Picture(
        "Lay the opening",
        "The opening's upper end keeps its distance from the side corner; the line swings about "
        "it, as on a pin, until its lower end touches the new side.",
    )
    front = _result_front()
    line = front.base.edge("mouth").points
    row = result().record.openings[0]
    pin, landing = line[0], line[-1]
    radius = math.dist(pin, landing)
    box = shapely.box(pin[0] - 140.0, pin[1] - radius - 30.0, pin[0] + 75.0, pin[1] + 25.0)
    shown = shapely.Polygon(front.outline).intersection(box)
    frame = upright(front.base, 0.52, (0.0, 0.0), shown)
    taped = composed(piece_of(front), frame, crop=box)
    picture.draw(Scene(taped.of(Role.FACE)) + lines_of(taped, "waist", "side"))
    corner = front.edge("side").points[0]
    waist = front.edge("waist").points
    picture.line(frame(between(waist, locate(waist, pin)[0], length(waist))), RUN)
    way = math.degrees(math.atan2(*(landing - pin)[::-1]))
    circle = picture.arc(frame(pin), 0.52 * radius, way - 21.0, way + 18.0)
    picture.line(circle, Stroke(PALE, 0.3, (1.6, 1.2)))
    old = pin + _turned(line - pin, -row.swing_deg)
    picture.line(frame(old), Role.BEFORE)
    picture.line(frame(line), RIGID)
    _swing(picture, frame, pin, landing, old[-1])
    for at in (pin, landing):
        picture.dot(frame(at), radius=1.0)
    _label(picture, frame, pin, landing, corner, row)
    picture.save(folder, "opening")


def _turned(points: Array, degrees: float) -> Array:
    turn = np.exp(1j * math.radians(degrees))
    z = (points[:, 0] + 1j * points[:, 1]) * turn
    return np.column_stack([z.real, z.imag])


def _swing(picture: Picture, frame: Frame, pin: Array, new: Array, old: Array) -> None:
    """The arrow from the old direction to the new one."""
    first, last = (math.degrees(math.atan2(*(end - pin)[::-1])) for end in (old, new))
    way = (last - first) * 0.8
    picture.arrow(picture.arc(frame(pin), 60.0, first, first + way), Stroke(PALE, 0.4))


def _label(
    picture: Picture,
    frame: Frame,
    pin: Array,
    landing: Array,
    corner: Array,
    row: Mapping[str, Any],
) -> None:
    at = frame(pin)
    picture.leader(
        at + [12.0, 9.0], at, "the pin: as far from the\nside corner as in size " + UPPER
    )
    middle = (frame(corner) + at) / 2
    picture.leader(
        middle + [-18.0, 10.0], middle, "its distance along\nthe waist is kept", anchor="end"
    )
    low = frame(landing)
    text = f"the landing: the opening,\n{row.after_mm:.1f} mm long as before,\ntouches the new side"
    picture.leader(low + [-14.0, -6.0], low, text, anchor="end")
    half = frame(pin + (landing - pin) * 0.5)
    swing = f"swing {row.swing_deg:+.1f}°".replace("-", "−")
    picture.text(half + [17.0, -14.0], swing, anchor="start")
    picture.text(half + [26.0, 6.0], f"as in size {UPPER},\nagainst the grain", anchor="start")


def stack(folder: Path) -> None:
    """Draw every layer of the pocket in its new seat, with what is added and trimmed."""
    picture = Picture(
        "Re-seat the stack",
        "Facing, under bag and top bag move with the opening as one; what rides on the outline "
        "of the full front is cut to it anew.",
    )
    for i, layer in enumerate(trousers().relations.stacks["front_pocket_layers"].layers):
        _layer(picture, layer, (i * 66.0, 0.0))
    picture.legend({Role.BEYOND: "outline of the full front"})
    picture.save(folder, "stack")


def _layer(picture: Picture, layer: StackLayer, corner: tuple[float, float]) -> None:
    made, front = result(), _result_front()
    piece = made.pattern.sized(layer.piece, made.record.size)
    change = next(p for p in made.record.pieces if p.piece == layer.piece)
    motion, _ = fit(
        [piece.landmark(own).point for own, _ in layer.put],
        [front.base.landmark(theirs).point for _, theirs in layer.put],
        face_down=layer.face_down,
    )
    low = front.edge("side").points[0] + [-72.0, -275.0]
    box = shapely.box(low[0], low[1], low[0] + 205.0, low[1] + 300.0)
    frame = upright(front.base, 0.28, corner, box)
    under = composed(piece_of(front), frame, crop=box)
    picture.draw(lines_of(under, "waist", "side", "centre", role=Role.BEYOND))
    old = piece_before(piece, change)
    picture.draw(composed(piece, frame, before=old, shown=OUTLINES, laid=motion))
    picture.line(frame(front.base.edge("mouth").points), RIGID)
    title = trousers().info[layer.piece].title.lower()
    caption(picture, frame, box, title + (", drawn face down" if layer.face_down else ""))
