"""What the rules across relations look at: lengths in all sizes, and what takes each edge."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from propagate.geometry.crossing import line_crossings
from propagate.pattern.beside import is_beside, length_beside
from propagate.pattern.ease import Ease, zone_ease
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_edges import runs_of
from propagate.pattern.relations import Run, Seam, Span, Zone
from propagate.pattern.spans import closed_length, span_ends, span_length, span_points
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = [
    *("Use", "edges_beside", "eased_places", "free_spans", "join_names"),
    *("level_place", "list_uses", "pick_sizes", "pieces_of", "run_lengths", "say_run"),
    *("seam_eases", "sewn_together", "silhouette_pieces", "span_lengths", "zone_eases"),
    "zone_runs",
]

Array = npt.NDArray[np.float64]
Kind = Literal["seam", "band", "opening", "layer", "fold"]


@dataclass(frozen=True)
class Use:
    """A span that a relation takes.

    Attributes
    ----------
    kind : str
    relation : str
        As a person would say it: ``seam 'side_seam'``.
    span : Span
    name : str
        Of a seam, as the set names it; empty for what nobody looks up.
    """

    kind: Kind
    relation: str
    span: Span
    name: str = ""


def list_uses(pattern: PatternSet) -> dict[str, list[Use]]:
    """Return what takes each edge, by ``PIECE.EDGE``; edges that nothing takes are left out."""
    found: dict[str, list[Use]] = {}
    for use in _walk_uses(pattern):
        found.setdefault(use.span.key, []).append(use)
    return found


def _walk_uses(pattern: PatternSet) -> Iterator[Use]:
    relations = pattern.relations
    for seam in relations.seams.values():
        for span in (*seam.lead, *seam.follow):
            yield Use("seam", f"seam '{seam.name}'", span, seam.name)
    for band in relations.bands.values():
        for span in (Span(band.piece, band.sewn), *(s for zone in band.zones for s in zone.run)):
            yield Use("band", f"band '{band.name}'", span)
    for opening in relations.openings.values():
        yield Use("opening", f"opening '{opening.name}'", Span(opening.piece, opening.edge))
    for stack in relations.stacks.values():
        for layer in stack.layers:
            for edge in (*layer.ride, *([layer.mouth] if layer.mouth is not None else [])):
                yield Use("layer", f"stack '{stack.name}'", Span(layer.piece, edge))
    for key, kind in KINDS.items():
        for name, other in ({} if kind.kept else relations_of(relations, key)).items():
            for _, run in runs_of(other):
                yield from (Use("seam", f"{key} '{name}'", span) for span in run)
    for name, info in pattern.info.items():
        if info.fold is not None:
            yield Use("fold", f"fold of piece '{name}'", Span(name, info.fold))


def pieces_of(*runs: Run) -> tuple[str, ...]:
    """The pieces of some runs, each once."""
    return tuple(dict.fromkeys(span.piece for run in runs for span in run))


def silhouette_pieces(pattern: PatternSet, name: str) -> tuple[str, ...]:
    """The pieces of a silhouette, the lead first: those of an assembly, or a plain piece."""
    assembly = pattern.relations.assemblies.get(name)
    return (name,) if assembly is None else assembly.pieces


def free_spans(
    pattern: PatternSet, kinds: Collection[Kind] = get_args(Kind)
) -> dict[str, tuple[Span, ...]]:
    """Return the stretches of each piece that nothing is sewn to and no fold lies on.

    An edge that is derived from a main piece is not one that somebody forgot.

    Parameters
    ----------
    pattern : PatternSet
    kinds : collection of str
        The kinds of use that count.

    Returns
    -------
    dict of piece to spans
        Pieces without any such stretch are left out.
    """
    taken = list_uses(pattern)
    found: dict[str, tuple[Span, ...]] = {}
    every = pattern.relations.derived
    for name in pattern.pieces:
        piece = pattern.sized(name, pattern.base)
        derived = {one.edge for one in every[name].edges} if name in every else set()
        spans: list[Span] = []
        for edge in (edge for edge in piece.edges if edge.name not in derived):
            stretches = []
            for use in taken.get(f"{name}.{edge.name}", ()):
                if use.kind in kinds:
                    marks = (use.span.begin, use.span.end)
                    stretches.append(sorted(zip(span_ends(piece, use.span), marks, strict=True)))
            at, mark = 0.0, "start"
            for (low, low_mark), (high, high_mark) in sorted(stretches):
                if low > at + ON_LINE_MM:
                    spans.append(Span(name, edge.name, mark, low_mark))
                if high > at:
                    at, mark = high, high_mark
            if at < edge.length - ON_LINE_MM:
                spans.append(Span(name, edge.name, mark, "end"))
        if spans:
            found[name] = tuple(spans)
    return found


def edges_beside(pattern: PatternSet, span: Span) -> tuple[str, str]:
    """The two edges beside an edge in the outline, as ``PIECE.EDGE``."""
    names = pattern.sized(span.piece, pattern.base).edge_names
    i = names.index(span.edge)
    return f"{span.piece}.{names[i - 1]}", f"{span.piece}.{names[(i + 1) % len(names)]}"


def sewn_together(pattern: PatternSet, first: str, second: str) -> bool:
    """Whether a seam sews two edges (``PIECE.EDGE``) to each other."""
    return any(
        {first, second} <= {span.key for span in (*seam.lead, *seam.follow)}
        and any(span.key == first for span in seam.lead)
        != any(span.key == second for span in seam.lead)
        for seam in pattern.relations.seams.values()
    )


def pick_sizes(pattern: PatternSet) -> tuple[str, ...]:
    """First, base and last size: enough to see what is off in every size."""
    return tuple(dict.fromkeys((pattern.sizes[0], pattern.base, pattern.sizes[-1])))


def span_lengths(pattern: PatternSet, span: Span, sizes: Sequence[str] = ()) -> Array:
    """(sizes,) lengths of a span with darts closed, mm; in all sizes when none are given."""
    of = sizes or pattern.sizes
    return np.array([span_length(pattern.sized(span.piece, size), span) for size in of])


def seam_eases(pattern: PatternSet, seam: Seam, sizes: Sequence[str] = ()) -> Array | float:
    """Ease that a seam should have in each size, mm; a number where it is one amount."""
    if not isinstance(seam.ease, Ease) and not is_beside(seam):
        return seam.ease
    looked = sizes or pattern.sizes
    return np.array([seam_ease(pattern.in_size(size), seam, size).total for size in looked])


def eased_places(pattern: PatternSet, seam: Seam, places: Array) -> Array:
    """(looks,) places on the lead of a seam where they fall on its follower, ease shared out."""
    if not isinstance(seam.ease, Ease) and not is_beside(seam):
        return places * (1.0 + seam.ease / run_lengths(pattern, seam.lead, pick_sizes(pattern)))
    eases = [seam_ease(pattern.in_size(size), seam, size) for size in pick_sizes(pattern)]
    return places + [one.before(float(at)) for one, at in zip(eases, places, strict=True)]


def zone_eases(pattern: PatternSet, zone: Zone, run_mm: Array, zone_mm: Array) -> Array | float:
    """Ease that a zone of a band should have in each size, mm; a number where it is one amount."""
    if not isinstance(zone.ease, Ease):
        return zone.ease
    sides = zip(pattern.sizes, run_mm.tolist(), zone_mm.tolist(), strict=True)
    return np.array([zone_ease(zone.ease, size, run, own) for size, run, own in sides])


def zone_runs(pattern: PatternSet, zone: Zone) -> Array:
    """(sizes,) lengths that a zone of a band takes of its run, mm."""
    return np.array(
        [length_beside(pattern.in_size(size), zone.run, zone) for size in pattern.sizes]
    )


def run_lengths(pattern: PatternSet, run: Run, sizes: Sequence[str] = ()) -> Array:
    """(sizes,) lengths of a run with darts closed, mm; in all sizes when none are given."""
    return np.asarray(np.sum([span_lengths(pattern, span, sizes) for span in run], axis=0))


def level_place(pattern: PatternSet, run: Run, level: str, size: str) -> float | None:
    """Distance from a run's start at which a level crosses it; None where not exactly once.

    As it is sewn, with darts and pleats closed.
    """
    found, done = [], 0.0
    for span in run:
        piece = pattern.sized(span.piece, size)
        points = span_points(piece, span)
        first, last = span_ends(piece, span)
        way = 1.0 if first <= last else -1.0
        if level in piece.levels:
            grain = piece.grain.direction
            across = np.array([-grain[1], grain[0]])
            hits = line_crossings(points, np.asarray(piece.levels[level]), across)
            found += [
                done + closed_length(piece, span.edge, first, first + way * float(hit))
                for hit in hits
            ]
        done += span_length(piece, span)
    return found[0] if len(found) == 1 else None


def say_run(run: Run) -> str:
    """A run as it is written, in quotes."""
    return f"'{' + '.join(str(span) for span in run)}'"


def join_names(names: list[str] | tuple[str, ...]) -> str:
    """Names in quotes, the last joined by "and".

    Examples
    --------
    >>> join_names(["front", "back"])
    "'front' and 'back'"
    """
    quoted = [f"'{name}'" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"
