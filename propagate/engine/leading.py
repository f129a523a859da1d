"""Which side leads where the set leaves it open: the side that a change reaches first.

A seam that goes both ways, and copies, are told in one direction.  Before a change is carried
they are turned so that it runs outward from the pieces that were edited: of six gores in a
ring the two beside the edited one follow it, those beside them follow these, and the one on
the far side follows from both.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from weakref import WeakKeyDictionary

from propagate.engine.graph import run_nodes
from propagate.engine.job import Drawn, Job
from propagate.geometry.polyline import length, measure_apart
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run
from propagate.pattern.spans import span_points
from propagate.pattern.turning import turned_seam
from propagate.tolerances import RESTS_MM
from propagate.values import dataclass

__all__ = ["led_by_change"]

_Turned = tuple[frozenset[str], tuple[tuple[str, str], ...]]
_KNOWN: WeakKeyDictionary[PatternSet, dict[_Turned, PatternSet]] = WeakKeyDictionary()
_WAYS: WeakKeyDictionary[PatternSet, tuple[_Way, ...]] = WeakKeyDictionary()
_BOTH: WeakKeyDictionary[PatternSet, frozenset[str]] = WeakKeyDictionary()
_FAR = 1 << 30


def led_by_change(job: Job, drawn: Drawn) -> PatternSet:
    """Return the set with its open seams and copies led by the side that a change reaches first.

    Parameters
    ----------
    job : Job
    drawn : Drawn
        What the edit drew on the set of the job.

    Returns
    -------
    PatternSet
        The set itself where nothing has to be turned; what was turned once is kept.
    """
    pattern, relations = job.pattern, job.pattern.relations
    both = _BOTH.get(pattern)
    if both is None:  # every seam of a large set is asked once, not once an edit
        both = _BOTH[pattern] = frozenset(
            name
            for name, seam in relations.seams.items()
            if seam.both_ways
            or (
                not (seam.check or seam.mirror or seam.fixed)
                and relations.are_copies(_list_pieces(seam.lead) | _list_pieces(seam.follow))
            )
        )
    if not both and not relations.alike:
        return pattern
    steps = _steps_to(job, drawn, both)
    turned = set()
    for name in both:
        seam = relations.seams[name]
        near, far = (
            min(steps.get(piece, _FAR) for piece in _list_pieces(run))
            for run in (seam.lead, seam.follow)
        )
        back = far < near
        if near == far == 0:  # the edit drew both sides
            back = _is_moved(job, drawn, seam.follow) and not _is_moved(job, drawn, seam.lead)
        if back:
            turned.add(name)
    first = tuple(
        (alike.name, lead)
        for alike in relations.alike.values()
        if (lead := min(alike.pieces, key=lambda piece: steps.get(piece, _FAR))) != alike.pieces[0]
    )
    if not turned and not first:
        return pattern
    known, key = _KNOWN.setdefault(pattern, {}), (frozenset(turned), first)
    if key not in known:
        seams = {
            name: turned_seam(seam) if name in turned else seam
            for name, seam in relations.seams.items()
        }
        alike = dict(relations.alike)
        for name, lead in first:
            others = (piece for piece in alike[name].pieces if piece != lead)
            alike[name] = replace(alike[name], pieces=(lead, *others))
        known[key] = replace(pattern, relations=replace(relations, seams=seams, alike=alike))
    return known[key]


def _list_pieces(run: Run) -> set[str]:
    return {span.piece for span in run}


def _pieces_of(pattern: PatternSet, nodes: Iterable[str]) -> set[str]:
    """The pieces on which nodes of the relation graph lie."""
    found: set[str] = set()
    for node in nodes:
        owner = node.partition("/")[0] if "/" in node else node.partition(".")[0]
        assembly = pattern.relations.assemblies.get(owner)
        if assembly is not None:
            found.update(assembly.pieces)
        elif owner in pattern.pieces:
            found.add(owner)
    return found


def _is_moved(job: Job, drawn: Drawn, run: Run) -> bool:
    """Whether the edit itself changed a run of a seam.

    A run is a part of an edge at times: what was drawn beyond it is none of its business.
    """
    changed = {change.id for change in drawn.changes} | set(drawn.visit)
    for span in run:
        new = drawn.given.pieces.get(span.piece)
        if new is None:
            if {span.key, *run_nodes(job.pattern, (span,))} & changed:
                return True
            continue
        was, now = (
            span_points(one, span) for one in (job.pattern.sized(span.piece, job.size), new)
        )
        if max(abs(length(was) - length(now)), measure_apart(was, now)) > RESTS_MM:
            return True
    return False


def _steps_to(job: Job, drawn: Drawn, both: Collection[str]) -> dict[str, int]:
    """By how many relations each piece is reached from those that the edit drew.

    From these a change goes on through what it moved alone; farther on it may go everywhere.
    """
    pattern, seams = job.pattern, job.pattern.relations.seams
    changed = {change.id for change in drawn.changes} | set(drawn.visit)
    steps = dict.fromkeys(sorted(_pieces_of(pattern, changed)), 0)
    todo: deque[str] = deque()

    def reach(pieces: Iterable[str], count: int) -> None:
        for piece in sorted(pieces):
            if piece not in steps:
                steps[piece] = count
                todo.append(piece)

    for way in _list_ways(pattern, both):
        seam = seams.get(way.seam)
        if seam is None:
            moved = bool(way.reads & changed) or (way.alike and bool(way.sources & set(steps)))
        else:
            moved = _is_moved(job, drawn, seam.follow if way.back else seam.lead)
        if moved:
            reach(way.targets, 1)
    neighbours: dict[str, set[str]] = {}
    for way in _list_ways(pattern, both):
        for source in way.sources:
            neighbours.setdefault(source, set()).update(way.targets)
    while todo:
        piece = todo.popleft()
        reach(neighbours.get(piece, ()), steps[piece] + 1)
    return steps


@dataclass(frozen=True)
class _Way:
    """A way that a change can go: from the pieces of some nodes to other pieces.

    `seam`: through a seam, `back` from its follower to its lead; `alike`: between copies.
    """

    reads: frozenset[str]
    sources: frozenset[str]
    targets: frozenset[str]
    seam: str = ""
    back: bool = False
    alike: bool = False


def _list_ways(pattern: PatternSet, both: Collection[str]) -> tuple[_Way, ...]:
    """Every way; both ways through what is left open, and within what is taped together."""
    found = _WAYS.get(pattern)
    if found is None:
        found = _WAYS[pattern] = tuple(_each_way(pattern, both))
    return found


def _each_way(pattern: PatternSet, both: Collection[str]) -> Iterator[_Way]:
    relations = pattern.relations
    for key, kind in KINDS.items():
        for name, relation in relations_of(relations, key).items():
            links = kind.links(pattern, relation)
            if links is None or key == "alike":
                continue
            sources, targets = (frozenset(_pieces_of(pattern, nodes)) for nodes in links)
            seam = name if key == "seam" else ""
            yield _Way(frozenset(links[0]), sources, targets, seam)
            if seam in both:
                yield _Way(frozenset(links[1]), targets, sources, seam, back=True)
    for alike in relations.alike.values():
        pieces = frozenset(alike.pieces)
        yield _Way(frozenset(), pieces, pieces, alike=True)
    for name in relations.assemblies:
        parts = frozenset(_pieces_of(pattern, [name]))
        yield _Way(frozenset(), parts, parts)
