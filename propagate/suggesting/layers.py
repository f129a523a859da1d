"""Lay the layers of a pocket on the main piece and see which of their edges lie on what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property
from itertools import combinations

import numpy as np
import numpy.typing as npt

from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import join, locate_all, sample_line
from propagate.pattern.spans import span_points
from propagate.suggesting.mouths import CHORD_MM, Filling, find_fillings
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.values import dataclass

__all__ = ["Layer", "Pocket", "find_pockets"]

Array = npt.NDArray[np.float64]

LIES_ON_MM = 0.3
"""What lies this close on a line in every size that is looked at lies on it."""
_SAMPLES = 17


@dataclass(frozen=True)
class Layer:
    """A piece laid on the main piece, registered on the mouth.

    Attributes
    ----------
    piece : str
    put : pairs of (own landmark, main piece's landmark)
    face_down : bool
    motions : tuple of Motion, one for each size that is looked at
    filling : Filling or None
        Set when it fills the corner.
    mouth : str or None
        Its edge that is the opening line.
    rides : mapping of own edge to silhouette edge
    """

    piece: str
    put: tuple[tuple[str, str], ...]
    face_down: bool
    motions: tuple[Motion, ...]
    filling: Filling | None = None
    mouth: str | None = None
    rides: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Pocket:
    """A mouth with everything that lies behind it.

    Attributes
    ----------
    mouth : EdgeMeasure
        Edge of the main piece, the largest piece that has it.
    layers : tuple of Layer
    bags : tuple of (``PIECE.EDGE``, ``PIECE.EDGE``)
        Free edges of two layers that lie on each other.
    """

    mouth: EdgeMeasure
    layers: tuple[Layer, ...]
    bags: tuple[tuple[str, str], ...]

    @cached_property
    def bag_pieces(self) -> frozenset[str]:
        """Layers whose free edges lie on each other."""
        return frozenset(key.partition(".")[0] for pair in self.bags for key in pair)

    @cached_property
    def fillings(self) -> tuple[Filling, ...]:
        """What may fill the corner."""
        return tuple(layer.filling for layer in self.layers if layer.filling is not None)

    @cached_property
    def paired(self) -> frozenset[frozenset[str]]:
        """The pairs of `bags`, whichever of the two comes first."""
        return frozenset(map(frozenset, self.bags))

    @cached_property
    def mouths(self) -> frozenset[str]:
        """``PIECE.EDGE`` of the mouth and of the layers' edges that are its line."""
        lines = {f"{layer.piece}.{layer.mouth}" for layer in self.layers if layer.mouth}
        return frozenset({self.mouth.key, *lines})

    @cached_property
    def ridden(self) -> Mapping[str, tuple[str, ...]]:
        """``PIECE.EDGE`` of a layer to the silhouette edges that it rides on."""
        found: dict[str, tuple[str, ...]] = {}
        for layer in self.layers:
            for edge, line in layer.rides.items():
                key = f"{layer.piece}.{edge}"
                found[key] = (*found.get(key, ()), line)
        return found


def find_pockets(nest: Nest) -> list[Pocket]:
    """Return every mouth with its layers; a smaller piece that has the mouth is a layer."""
    found: list[Pocket] = []
    filled = find_fillings(nest)
    mouths = {one.mouth.key: one.mouth for one in filled}
    for mouth in sorted(mouths.values(), key=lambda edge: -nest.area[edge.piece]):
        if any(
            layer.piece == mouth.piece and layer.mouth == mouth.edge
            for pocket in found
            for layer in pocket.layers
        ):
            continue
        fills = [one for one in filled if one.mouth is mouth]
        layers = [
            Layer(one.piece, one.put, one.face_down, one.motions, filling=one) for one in fills
        ]
        # The edges of the full main piece by name, for each size that is looked at.
        fill, silhouettes = fills[0], []
        before, after = (edge.edge for edge in nest.beside(mouth))
        for size, motion in zip(nest.look, fill.motions, strict=True):
            main, part = nest.pattern.sized(mouth.piece, size), nest.pattern.sized(fill.piece, size)
            edges = {edge.name: edge.points for edge in main.edges if edge.name != mouth.edge}
            edges[before] = join([edges[before], motion.apply(span_points(part, fill.before))])
            edges[after] = join([motion.apply(span_points(part, fill.after)), edges[after]])
            silhouettes.append(edges)
        ridden = [
            replace(layer, rides=_find_rides(nest, layer, silhouettes))
            for layer in (*layers, *_find_congruent(nest, mouth))
        ]
        kept = tuple(layer for layer in ridden if layer.rides)
        found.append(Pocket(mouth, kept, _find_bags(nest, kept)))
    return found


def _find_congruent(nest: Nest, mouth: EdgeMeasure) -> list[Layer]:
    """Pieces with an edge of the mouth's own shape, on the same side of it."""
    found = []
    for edge in nest.edges.values():
        if nest.area[edge.piece] >= nest.area[mouth.piece] or edge.piece == mouth.piece:
            continue
        if np.abs(edge.lengths - mouth.lengths).max() > CHORD_MM:
            continue
        for face_down in (False, True):
            fits = []
            for size in nest.look:
                source, target = (
                    sample_line(nest.pattern.sized(one.piece, size).edge(one.edge).points, _SAMPLES)
                    for one in (edge, mouth)
                )
                if face_down:
                    source = source[::-1]
                fits.append(fit(source, target, face_down=face_down))
            if max(gap for _, gap in fits) <= LIES_ON_MM:
                ends = ("end", "start") if face_down else ("start", "end")
                put = tuple(
                    (f"{edge.edge}.{own}", f"{mouth.edge}.{theirs}")
                    for own, theirs in zip(ends, ("start", "end"), strict=True)
                )
                motions = tuple(motion for motion, _ in fits)
                found.append(Layer(edge.piece, put, face_down, motions, mouth=edge.edge))
    return found


def _find_rides(nest: Nest, layer: Layer, silhouettes: list[dict[str, Array]]) -> dict[str, str]:
    """The edges of a layer that lie on the silhouette, each with the edge that it lies on."""
    rides = {}
    for own in nest.outline_names(layer.piece):
        for name in silhouettes[0] if own != layer.mouth else ():
            if _lies_on(nest, layer, own, [edges[name] for edges in silhouettes]):
                rides[own] = name
                break
    return rides


def _lies_on(nest: Nest, layer: Layer, edge: str, lines: Sequence[Array]) -> bool:
    """Whether an edge of a layer lies on a line in every size that is looked at."""
    for size, motion, line in zip(nest.look, layer.motions, lines, strict=True):
        points = sample_line(nest.pattern.sized(layer.piece, size).edge(edge).points, _SAMPLES)
        if float(locate_all(line, motion.apply(points))[1].max()) > LIES_ON_MM:
            return False
    return True


def _find_bags(nest: Nest, layers: tuple[Layer, ...]) -> tuple[tuple[str, str], ...]:
    """Free edges of equal length that lie on each other."""
    free = [
        (layer, nest.edges[f"{layer.piece}.{edge}"])
        for layer in layers
        for edge in nest.outline_names(layer.piece)
        if edge not in layer.rides and edge != layer.mouth
    ]
    found = []
    for (first, one), (second, two) in combinations(free, 2):
        differ = np.abs(one.lengths - two.lengths).max()
        if one.piece == two.piece or differ > CHORD_MM:
            continue
        drawn = (nest.pattern.sized(two.piece, size).edge(two.edge).points for size in nest.look)
        lines = [motion.apply(points) for motion, points in zip(second.motions, drawn, strict=True)]
        if _lies_on(nest, first, one.edge, lines):
            found.append((one.key, two.key))
    return tuple(found)
