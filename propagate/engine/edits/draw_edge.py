"""Draw an edge anew: a smooth curve through given points, or a straight line.

The points are told along the chord of the edge and square to it, so that the same words draw it in
every size.  Its ends stay.
"""

from __future__ import annotations

from dataclasses import field, replace
from typing import ClassVar

import numpy as np

from propagate.engine.edits.edge_darts import mouths_on
from propagate.engine.edits.edge_of_set import EdgeOfSet, drawn_edges, edge_of_set, refuse_opening
from propagate.engine.edits.moving import Moved, vertex_stretches
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.following.spread import spline_weights
from propagate.engine.job import Drawn, Job
from propagate.engine.reshape import Stretch, rounded
from propagate.errors import EditError
from propagate.geometry.polyline import arc_lengths
from propagate.lengths import parse_length
from propagate.pattern.model import Array, Edge
from propagate.pattern.told import told
from propagate.tolerances import SAME_POINT_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["DrawEdge"]

_EXPECTED = (
    'a place along the chord and how far out of the piece, such as "50%:8mm" or "120mm:-4mm"'
)
_LEAST_MM = 1.0
_UPRIGHT, _ACROSS = 0.9, 0.4
"""Cosine between an edge and the grain from which it runs up the piece, and below which across."""


@dataclass(frozen=True, kw_only=True)
class DrawEdge(SizedEdit):
    """The edit: an edge becomes a smooth curve through points.

    Attributes
    ----------
    edge : str
        ``PIECE.EDGE`` or ``ASSEMBLY.EDGE``.
    through : tuple of str
        ``ALONG:OUT`` each, a length or a share of the chord; straight when there is none.
    """

    word: ClassVar[str] = "draw-edge"

    edge: str = field(metadata=told("edge", "the edge that is drawn anew; its ends stay"))
    through: tuple[str, ...] = field(
        default=(),
        metadata=told(
            "texts",
            "points `ALONG:OUT`: along the chord from the edge's start, and out of the piece, "
            "below 0 into it; each a length or a share of the chord; straight when there is none",
        ),
    )

    def draw(self, job: Job) -> Drawn:
        """Draw the curve; raises UnknownName, EditError."""
        of = edge_of_set(job.pattern, self.edge, job.size)
        self._refuse(job, of)
        new = self._edge(of)
        through = f"through {', '.join(self.through)}" if self.through else "straight"
        text = f"drawn anew {through}"
        drawn = drawn_edges(
            job,
            [(of, Moved({new.name: new}, {new.name: _tell_stretches(of, new)}))],
            f"{of.key} {text}",
            {"kind": self.word, **self.said()},
            lambda _: text,
        )
        return replace(drawn, kept=frozenset({of.key}))

    def _refuse(self, job: Job, of: EdgeOfSet) -> None:
        """Refuse an edge that something else keeps as it is; raises EditError."""
        refuse_opening(job.pattern, of)
        if job.pattern.info[of.lead].fold == of.edge.name and self.through:
            raise EditError(
                f"{of.where}: edge '{of.edge.name}' lies on the fold of the cloth and stays "
                "straight; draw another edge"
            )
        if mouths_on(job.pattern, of):
            raise EditError(
                f"{of.where}: edge '{of.edge.name}' has a dart, expected one without; raise, lower "
                "or take it in, which fold the dart, or swing the dart into another edge first"
            )

    def _edge(self, of: EdgeOfSet) -> Edge:
        """The new edge, with points at most `STEP_MM` apart."""
        nodes = self._nodes(of)
        if len(nodes) == 2:
            return Edge(of.edge.name, nodes)
        places = arc_lengths(nodes)
        count = int(np.ceil(float(places[-1]) / STEP_MM))
        at = np.unique(np.concatenate([np.linspace(0.0, places[-1], count + 1), places]))
        at = at[np.concatenate([[True], np.diff(at) > SAME_POINT_MM])]
        points = rounded(spline_weights(at, places, (False, False)) @ nodes)
        points[0], points[-1] = nodes[0], nodes[-1]
        return Edge(of.edge.name, points)

    def _nodes(self, of: EdgeOfSet) -> Array:
        """(n, 2) ends of the edge and what it is drawn through."""
        start, end = of.edge.points[0], of.edge.points[-1]
        chord = float(np.hypot(*(end - start)))
        if chord <= _LEAST_MM:
            raise EditError(
                f"{of.where}: edge '{of.edge.name}' begins and ends within {_LEAST_MM:g} mm, "
                "expected one with a chord; send a revised drawing"
            )
        ahead = (end - start) / chord
        out = np.array([ahead[1], -ahead[0]])  # the piece lies to the left of its outline
        found, last = [start], 0.0
        for text in self.through:
            along, _, away = text.partition(":")
            x, y = (_read_length(part, chord) for part in (along, away))
            if x is None or y is None:
                raise EditError(f"{of.where}: found the point '{text}', expected {_EXPECTED}")
            if not last + _LEAST_MM <= x <= chord - _LEAST_MM:
                raise EditError(
                    f"{of.where}: found the point '{text}' {x:.1f} mm along edge "
                    f"'{of.edge.name}', expected {last + _LEAST_MM:.1f} to {chord - _LEAST_MM:.1f} "
                    "mm: the points in order, between the ends of its chord"
                )
            if abs(y) > chord:
                raise EditError(
                    f"{of.where}: found the point '{text}' {abs(y):.1f} mm off a chord of "
                    f"{chord:.1f} mm, expected less; is it in another unit?"
                )
            found.append(start + x * ahead + y * out)
            last = x
        return np.array([*found, end])


def _tell_stretches(of: EdgeOfSet, new: Edge) -> tuple[Stretch, ...]:
    """What of the old edge each part of the new one stands for: what is marked stays level.

    An edge that runs up the piece keeps the heights of its marks, one that runs across it their
    places across; another one those along its chord, and one that turns back their shares.
    """
    grain = of.piece.grain.direction
    chord = of.edge.points[-1] - of.edge.points[0]
    along = float(chord @ grain) / float(np.hypot(*chord))
    way = chord / float(np.hypot(*chord))
    if abs(along) > _UPRIGHT:
        way = grain * np.sign(along)
    elif abs(along) < _ACROSS:
        across = np.array([-grain[1], grain[0]])
        way = across * np.sign(float(chord @ across))
    was, now = (edge.points @ way for edge in (of.edge, new))
    if (np.diff(was) <= 0.0).any() or (np.diff(now) <= 0.0).any():
        return (Stretch("lower", (0.0, new.length), (0.0, of.edge.length)),)
    places = np.linspace(was[0], was[-1], int(np.ceil(of.edge.length / STEP_MM)) + 1)
    there, here = np.interp(places, was, of.edge.arc), np.interp(places, now, new.arc)
    return tuple(vertex_stretches(here, there))


def _read_length(text: str, chord: float) -> float | None:
    """Mm of a length or of a share of the chord."""
    text = text.strip()
    if not text.endswith("%"):
        return 0.0 if text == "0" else parse_length(text)
    try:
        return float(text[:-1]) / 100.0 * chord
    except ValueError:
        return None
