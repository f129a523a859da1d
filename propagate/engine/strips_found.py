"""Which pieces are strips: those of which the set says so, and those that plainly are."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import locate_all, sample_line
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam
from propagate.pattern.strips import Sides, sides_of_strip
from propagate.values import dataclass

__all__ = ["StripFound", "even_widths", "strip_of", "widths_between"]

Array = npt.NDArray[np.float64]

_WIDEST_MM = 150.0
_EVEN_MM = 1.0
_NARROW_MM = 100.0
_WIDENS = 2.0
"""A narrow piece that grows wider than this many times its least width is no strip."""
_LONG = 2.0
"""A strip is this many times as long as it is wide."""
_PLACES = 21

_FOUND: WeakKeyDictionary[PatternSet, dict[str, StripFound | None]] = WeakKeyDictionary()


@dataclass(frozen=True)
class StripFound:
    """A piece that is a strip.

    Attributes
    ----------
    near, far : tuple of str
        The edges of its long sides, in the order of the outline.
    widths_mm : (float, float) or None
        The least and the greatest width by which it was taken for one; None: the set says that
        it is.
    """

    near: tuple[str, ...]
    far: tuple[str, ...]
    widths_mm: tuple[float, float] | None = None


def strip_of(pattern: PatternSet, name: str) -> StripFound | None:
    """Tell whether a piece is a strip, in all sizes alike.

    Where the set says nothing, a follower is one that is sewn to its leads along its two long
    edges alone, and these lie at one even width in the base size; or the piece is narrow and
    nothing is sewn to its short ends (a collar widens towards its points).  Its short ends may be
    sewn to each other, as those of a neckband are.  Never one that an edit may cut, that has a
    dart or whose seam has a hold.
    """
    known = _FOUND.setdefault(pattern, {})
    if name not in known:
        known[name] = _find_strip(pattern, name)
    return known[name]


def _find_strip(pattern: PatternSet, name: str) -> StripFound | None:
    info, piece = pattern.info.get(name), pattern.sized(name, pattern.base)
    # seams that match the piece to a lead
    seams = [
        seam
        for seam in pattern.relations.seams.values()
        if not (seam.check or seam.mirror or seam.fixed or _joins_itself(seam, name))
        and any(span.piece == name for span in seam.follow)
    ]
    sewn = {span.edge for seam in seams for span in seam.follow if span.piece == name}
    if info is not None and info.strip is not None:
        sides = sides_of_strip(piece.edge_names, info.strip)
        return None if sides is None else StripFound(*_near_first(piece, sides, sewn))
    if not seams or piece.darts or any(seam.hold is not None for seam in seams):
        return None
    relations = pattern.relations
    mains = relations.blend.mains if relations.blend is not None else ()
    # What something else than a seam cuts: mains, layers of pockets, bands.
    recut = set(relations.parts_of) | {band.piece for band in relations.bands.values()}
    recut |= {layer.piece for stack in relations.stacks.values() for layer in stack.layers}
    if name in recut | {main.silhouette for main in mains}:
        return None
    # edges of a piece that a seam or a band joins to another
    runs = [
        run
        for seam in relations.seams.values()
        if not (seam.check or seam.mirror or _joins_itself(seam, name))
        for run in (seam.lead, seam.follow)
    ]
    runs += [zone.run for band in relations.bands.values() for zone in band.zones]
    used = {span.edge for run in runs for span in run if span.piece == name}
    for i, j, widths in _long_pairs(piece):
        pair = (piece.edges[i].name,), (piece.edges[j].name,)
        both = {*pair[0], *pair[1]}
        if sewn <= both and (_is_even(widths) or used <= both):
            width = float(widths.min()), float(widths.max())
            return StripFound(*_near_first(piece, pair, sewn), width)
    return None


def _joins_itself(seam: Seam, name: str) -> bool:
    """Whether a seam closes a piece to a ring."""
    return {span.piece for span in (*seam.lead, *seam.follow)} == {name}


def _near_first(piece: SizedPiece, sides: Sides, sewn: set[str]) -> Sides:
    """The side first that follows; of two that do, or none, the longer."""
    first, second = sides
    follows = [bool(sewn & set(side)) for side in sides]
    if follows[0] != follows[1]:
        return sides if follows[0] else (second, first)
    sizes = [sum(piece.edge(name).length for name in side) for side in sides]
    return sides if sizes[0] >= sizes[1] else (second, first)


def even_widths(piece: SizedPiece) -> Iterator[tuple[int, int, Array]]:
    """Pairs of edges, by index, that lie beside each other at one width, with the widths, mm."""
    for i, j, widths in _long_pairs(piece):
        if _is_even(widths):
            yield i, j, widths


def _long_pairs(piece: SizedPiece) -> Iterator[tuple[int, int, Array]]:
    """Pairs of edges that may be the long sides of a strip, with the widths between them, mm."""
    edges = piece.edges
    for i, j in combinations(range(len(edges)), 2):
        if j - i in (1, len(edges) - 1):
            continue  # neighbours meet in a corner
        widths = widths_between(edges[i], edges[j])
        if widths is None or min(edges[i].length, edges[j].length) < _LONG * widths.mean():
            continue
        narrow = widths.max() <= min(_NARROW_MM, _WIDENS * widths.min())
        if narrow or _is_even(widths):
            yield i, j, widths


def _is_even(widths: Array) -> bool:
    return bool(np.ptp(widths) <= _EVEN_MM and widths.mean() <= _WIDEST_MM)


def widths_between(first: Edge, second: Edge) -> Array | None:
    """Distances between two edges at even places of the shorter one, its ends left out."""
    short, long = sorted((first, second), key=lambda edge: edge.length)
    if short.length <= 0.0 or long.length > 3.0 * short.length:
        return None
    places = sample_line(short.points, _PLACES)[2:-2]
    _, gaps = locate_all(long.points, places)
    return gaps
