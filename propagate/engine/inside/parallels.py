"""Inner lines that run parallel to an edge: topstitching, the line of a facing, of a hem's fold.

Such a line is measured from its edge, or from several that follow each other, and drawn anew at its
distance when one of them moves.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

import numpy as np

from propagate.engine.inside.chains import EVEN_MM, RUN_ON_MM, parallel_inside, widths_along
from propagate.engine.inside.contacts import Contact
from propagate.engine.inside.outline_move import OutlineMove
from propagate.engine.reshape import rounded
from propagate.geometry.arrays import Array
from propagate.geometry.crossing import crossings
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.parallel import distinct, offset_line
from propagate.geometry.polyline import (
    arc_lengths,
    between,
    length,
    locate,
    locate_all,
    point_at,
    sample_line,
)
from propagate.pattern.model import SizedPiece
from propagate.tolerances import CHORD_ERROR_MM, RESTS_MM
from propagate.values import dataclass

__all__ = ["Parallel", "parallel_again", "parallel_of", "runs_parallel"]

_LEAST_MM = 30.0
_NEAR_MM = 60.0
"""Within this a line that graded farther off with the sizes still is parallel to its edge."""
_SAMPLE_MM = 5.0
_SHARE = 0.5


@dataclass(frozen=True)
class Parallel:
    """The edge that an inner line is parallel to, and how far inside of it, mm.

    `edges` are several where it runs on from one to the next, in the order of the outline.
    `same` says that it is as far in every size, `along` that it runs along half of its edge.
    """

    edges: tuple[str, ...]
    width: float
    same: bool
    along: bool


def parallel_of(name: str, own: SizedPiece, nest: Iterable[SizedPiece]) -> Parallel | None:
    """Find the nearest edge to which an inner line is parallel in every size, or None.

    A line that lies beside several edges one after the other is parallel to all of them.
    """
    others = list(nest)
    found = dict(_find_parallels(own, name, own.edge_names))
    widths = {(edge,): [width] for edge, width in found.items()}
    for other in others if found else ():
        theirs = dict(_find_parallels(other, name, found))
        widths = {(e,): [*w, theirs[e]] for (e,), w in widths.items() if e in theirs}
    line = _line_of(own, name)
    assert line is not None
    size = float(arc_lengths(line)[-1])
    alike = [
        _judge_parallel(edges, w, size >= _SHARE * own.edge(edges[0]).length)
        for edges, w in widths.items()
    ]
    meant = [one for one in alike if one is not None]
    nearest = min(meant, key=lambda one: (one.width, one.edges), default=None)
    if nearest is not None:
        gaps = locate_all(own.edge(nearest.edges[0]).points, line[[0, -1]])[1]
        if gaps.max() <= nearest.width + EVEN_MM:
            return nearest  # neither of its ends lies beyond the end of the edge
    chain = _chain_of(own, line, [(other, _line_of(other, name)) for other in others])
    return nearest if chain is None else chain


def _judge_parallel(
    edges: tuple[str, ...], widths: Sequence[float], along: bool
) -> Parallel | None:
    """Make a parallel that is as far in every size, or near; None of one that is neither."""
    same = float(np.ptp(widths)) <= EVEN_MM
    return Parallel(edges, widths[0], same, along) if same or widths[0] <= _NEAR_MM else None


def _chain_of(
    own: SizedPiece, line: Array, nest: Sequence[tuple[SizedPiece, Array | None]]
) -> Parallel | None:
    """Find the edges one after the other to which a line is parallel, or None."""
    if arc_lengths(line)[-1] < _LEAST_MM or np.array_equal(line[0], line[-1]):
        return None
    others = ((piece, _points_of(theirs)) for piece, theirs in nest if theirs is not None)
    edges, widths = widths_along(own, _points_of(line), others)
    complete = len(widths) == 1 + len(nest)
    return _judge_parallel(edges, widths, along=True) if edges and complete else None


def _line_of(piece: SizedPiece, name: str) -> Array | None:
    return next((line.points for line in piece.lines if line.name == name), None)


def _find_parallels(
    piece: SizedPiece, name: str, edges: Collection[str]
) -> Iterator[tuple[str, float]]:
    line = _line_of(piece, name)
    if line is None or arc_lengths(line)[-1] < _LEAST_MM:
        return
    points, least = _points_of(line), _SHARE * float(arc_lengths(line)[-1])
    for edge in (edge for edge in piece.edges if edge.name in edges):
        longer = _run_on(edge.points)
        if float(np.ptp(locate_all(longer, points[[0, -1]])[1])) > EVEN_MM:
            continue  # as with most edges: its ends tell already
        along, gaps = locate_all(longer, points)
        beside = float(np.ptp(along)) >= least
        if beside and float(np.ptp(gaps)) <= EVEN_MM and float(gaps.min()) > EVEN_MM:
            yield edge.name, float(np.median(gaps))


def runs_parallel(piece: SizedPiece, points: Array, to: Parallel) -> bool:
    """Tell whether a line lies at its distance from its edge."""
    if len(to.edges) == 1:
        gaps = locate_all(_run_on(piece.edge(to.edges[0]).points), _points_of(points))[1] - to.width
    else:
        gaps = locate_all(parallel_inside(piece, to.edges, to.width), _points_of(points))[1]
    return bool(np.abs(gaps).max() <= 2.0 * CHORD_ERROR_MM)


def _points_of(line: Array) -> Array:
    """Return points of a line, close together."""
    if len(line) > 2:
        return densify_smoothly(line, _SAMPLE_MM)
    return sample_line(line, max(int(np.ceil(length(line) / _SAMPLE_MM)), 2))


def _run_on(points: Array) -> Array:
    """Run an edge on straight at both ends."""
    return offset_line(points, 0.0, run_on=(RUN_ON_MM, RUN_ON_MM))


def parallel_again(
    move: OutlineMove, points: Array, to: Parallel, contacts: tuple[Contact, Contact]
) -> Array | None:
    """Draw a line anew at its distance from its edge, ended where it ended; None if it cannot.

    What lies on it already keeps its digits.
    """
    line = parallel_inside(move.now, to.edges, to.width)
    if locate(line, points[0])[0] > locate(line, points[-1])[0]:
        line = line[::-1]
    places = []
    for end, contact in zip((0, -1), contacts, strict=True):
        place = _place_end(move, line, points[end], to, contact)
        if place is None:
            return None
        places.append(place)
    if places[0] >= places[1]:
        return None
    return _with_digits(rounded(between(line, places[0], places[1])), points)


def _place_end(
    move: OutlineMove, line: Array, end: Array, to: Parallel, contact: Contact
) -> float | None:
    """Place an end of the line on the new parallel."""
    if contact.kind == "point":
        target = move.points[1].get(contact.name)
        along, gap = locate(line, end if target is None else target)
        return along if target is not None and gap <= EVEN_MM else None
    if contact.kind == "edge":
        return _cross_near(line, move.now.edge(contact.name).points, locate(line, end)[0])
    _, at, edge = min((*locate(move.was.edge(e).points, end)[::-1], e) for e in to.edges)
    here, _ = locate(line, move.answer(edge, at))
    if move.covers(point_at(line, here)):
        return here
    # It would stick out of the piece: it ends where it leaves that.
    return _cross_near(line, np.vstack([move.now.outline, move.now.outline[:1]]), here)


def _cross_near(line: Array, other: Array, at: float) -> float | None:
    """Find the place of a line at which it crosses another, the one nearest to a place of it."""
    found = crossings(line, other)[:, 0]
    return float(found[np.abs(found - at).argmin()]) if len(found) else None


def _with_digits(new: Array, old: Array) -> Array:
    """Give a new line the old one's points at its beginning and end, where they lie on it."""
    _, gaps = locate_all(new, old)
    rests = gaps <= RESTS_MM
    if rests.all() and np.abs(new[[0, -1]] - old[[0, -1]]).max() <= RESTS_MM:
        return old
    head = int(np.argmin(rests)) if np.hypot(*(new[0] - old[0])) <= RESTS_MM else 0
    tail = int(np.argmin(rests[::-1])) if np.hypot(*(new[-1] - old[-1])) <= RESTS_MM else 0
    head, tail = (count if not rests.all() else 0 for count in (head, tail))
    low = locate(new, old[head - 1])[0] if head else 0.0
    high = locate(new, old[len(old) - tail])[0] if tail else float(arc_lengths(new)[-1])
    middle = between(new, low, high)
    first = old[:head] if head else middle[:1]
    last = old[len(old) - tail :] if tail else middle[-1:]
    return distinct(np.vstack([first, middle[1:-1], last]))
