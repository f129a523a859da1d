"""What joins the pieces: seams, bands zone by zone, pockets.

Everything that is sewn along a line can be walked on the page.  The page draws its runs
from the edges of the drawn pieces; here it is told which part of which edge, with lengths
as they were measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, Literal

from propagate.pattern.beside import length_beside
from propagate.pattern.ease import zone_ease
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.relations import Run, Span
from propagate.pattern.runs import run_words
from propagate.pattern.spans import distance_on_run, folded_mouths, run_length, span_ends
from propagate.pattern.titles import in_sentence, in_words, name_title
from propagate.report.page.subject import State, Subject
from propagate.values import dataclass

__all__ = ["Join", "joins_of", "run_of_side"]

Kind = Literal["seam", "band", "pocket", "taped"]
_NEAR_MM = 1e-6


@dataclass(frozen=True)
class Side:
    """One side of what is walked: its run, its length and the notches on it."""

    run: Run
    length: float
    words: str


@dataclass(frozen=True)
class Join:
    """One thing that joins pieces.

    Attributes
    ----------
    kind : "seam", "band", "pocket" or "taped"
    name : str
        As the set names it; a zone of a band is ``BAND ZONE``.
    state : "changed", "touched" or "untouched"
    relation : str
        As the set names it: the band of a zone.
    edges : sequence of ``PIECE.EDGE``
        Shown where nothing is walked.
    first, second : Side or None
        The side that lies still and the side that is rolled; None when nothing is walked.
    ease, tolerance : float
        mm.
    notches : tuple of (words, distance on the first, distance on the second)
    id, group : str
        Safe to stand in a page; of the box in the graph: the zones of a band share one.
    label, title : str
        What stands in that box, and what it is called itself.
    """

    kind: Kind
    name: str
    lead: tuple[str, ...]
    follow: tuple[str, ...]
    state: State
    relation: str
    edges: Sequence[str] = ()
    first: Side | None = None
    second: Side | None = None
    ease: float = 0.0
    tolerance: float = 0.0
    notches: tuple[tuple[str, float, float], ...] = ()
    id: str = ""
    group: str = ""
    label: str = ""
    title: str = ""


def joins_of(subject: Subject) -> list[Join]:
    """Return everything that joins pieces, in the order of the set."""
    found = [
        *_find_seams(subject),
        *_find_bands(subject),
        *_find_pockets(subject),
        *_find_taped(subject),
    ]
    groups: dict[tuple[Kind, str], str] = {}
    joins = []
    for i, join in enumerate(found):
        group = groups.setdefault((join.kind, join.relation), f"j{i}")
        label = in_sentence(name_title(subject.pattern, join.relation))
        title = in_words(subject.pattern, join.name)
        joins.append(replace(join, id=f"j{i}", group=group, label=label, title=title))
    return joins


def _pieces_of_run(run: Run) -> tuple[str, ...]:
    return tuple(dict.fromkeys(span.piece for span in run))


def _find_state(subject: Subject, keys: Sequence[str], *, reached: bool) -> State:
    if any(subject.changed_edge(key) for key in keys):
        return "changed"
    return "touched" if reached else "untouched"


def _measure_side(subject: Subject, run: Run) -> Side:
    return Side(run, run_length(subject.sized, run), in_words(subject.pattern, run_words(run)))


def _find_seams(subject: Subject) -> Iterator[Join]:
    reached = {row.name for row in subject.record.seams} if subject.record else set()
    for name, seam in subject.pattern.relations.seams.items():
        keys = [span.key for span in (*seam.lead, *seam.follow)]
        join = Join(
            kind="seam",
            name=name,
            lead=_pieces_of_run(seam.lead),
            follow=_pieces_of_run(seam.follow),
            state=_find_state(subject, keys, reached=name in reached),
            relation=name,
            edges=keys,
            ease=0.0 if seam.mirror else seam_ease(subject.sized, seam, subject.size).total,
            tolerance=seam.tolerance,
        )
        if not seam.mirror:
            first, second = _measure_side(subject, seam.lead), _measure_side(subject, seam.follow)
            pairs = []
            for lead, follow in seam.notches:
                ends = [
                    distance_on_run(subject.sized, side.run, piece, landmark)
                    for mark, side in ((lead, first), (follow, second))
                    for piece, _, landmark in [mark.partition(".")]
                ]
                if ends[0] is not None and ends[1] is not None:
                    words = in_words(subject.pattern, f"{lead} | {follow}")
                    pairs.append((words, ends[0], ends[1]))
            join = replace(join, first=first, second=second, notches=tuple(pairs))
        yield join


def _find_bands(subject: Subject) -> Iterator[Join]:
    reached = (
        {(row.relation, row.part) for row in subject.record.bands} if subject.record else set()
    )
    for name, band in subject.pattern.relations.bands.items():
        for zone in band.zones:
            if not zone.run:
                continue
            keys = [f"{band.piece}.{band.sewn}", *(span.key for span in zone.run)]
            own = Span(band.piece, band.sewn, zone.begin, zone.end)
            strip, run = _measure_side(subject, (own,)), _measure_side(subject, zone.run)
            run = replace(run, length=length_beside(subject.sized, zone.run, zone))
            yield Join(
                kind="band",
                name=f"{name} {zone.name}",
                lead=_pieces_of_run(zone.run),
                follow=(band.piece,),
                state=_find_state(subject, keys, reached=(name, zone.name) in reached),
                relation=name,
                first=strip,
                second=run,
                ease=zone_ease(zone.ease, subject.size, run.length, strip.length),
                tolerance=band.tolerance,
            )


def _find_pockets(subject: Subject) -> Iterator[Join]:
    relations = subject.pattern.relations
    reached = {row.opening for row in subject.record.openings} if subject.record else set()
    for name, opening in relations.openings.items():
        stack = relations.stack_of.get(name)
        layers = tuple(layer.piece for layer in stack.layers) if stack else ()
        keys = [f"{opening.piece}.{opening.edge}"]
        yield Join(
            kind="pocket",
            name=name,
            lead=(opening.piece,),
            follow=tuple(dict.fromkeys(layers)),
            state=_find_state(subject, keys, reached=name in reached),
            relation=name,
            edges=keys,
        )


def _find_taped(subject: Subject) -> Iterator[Join]:
    """Yield assemblies whose parts no pocket lays already."""
    relations = subject.pattern.relations
    laid = {layer.piece for stack in relations.stacks.values() for layer in stack.layers}
    for name, assembly in relations.assemblies.items():
        parts = tuple(part.piece for part in assembly.parts if part.piece not in laid)
        if parts:
            keys = [span.key for run in assembly.edges.values() for span in run]
            state = _find_state(subject, keys, reached=assembly.lead in subject.changes)
            yield Join("taped", name, (assembly.lead,), parts, state, name)


def run_of_side(subject: Subject, side: Side) -> list[dict[str, Any]]:
    """Return the stretches of a side with darts closed, in its own direction.

    Each has the piece's id ``p``, the edge's number ``e`` and the distances ``a`` and
    ``b`` along it, mm; ``b`` < ``a`` where the run goes against the outline.
    """
    found = []
    for span in side.run:
        piece = subject.sized(span.piece)
        begin, end = span_ends(piece, span)
        for a, b in _without_darts(folded_mouths(piece, span.edge), begin, end):
            own = {"p": subject.ids[span.piece], "e": piece.edge_names.index(span.edge)}
            found.append({**own, "a": round(a, 6), "b": round(b, 6)})
    return found


def _without_darts(
    mouths: Sequence[tuple[float, float]], begin: float, end: float
) -> list[tuple[float, float]]:
    """Cut the mouths of darts out of a stretch, kept in its direction."""
    low, high = min(begin, end), max(begin, end)
    parts, at = [], low
    for first, last in mouths:
        if last <= low or first >= high:
            continue
        if first - at > _NEAR_MM:
            parts.append((at, first))
        at = max(at, last)
    if high - at > _NEAR_MM:
        parts.append((at, high))
    return parts if begin <= end else [(b, a) for a, b in reversed(parts)]
