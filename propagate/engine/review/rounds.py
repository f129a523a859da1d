"""Girths that count a piece too often or too seldom, or leave a part of the round out."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence

from propagate.engine.review.cutting import count_halves
from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import join_names, level_place, silhouette_pieces
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Girth, Span
from propagate.pattern.spans import span_ends
from propagate.tolerances import ON_LINE_MM

__all__ = ["review_rounds"]

Key = tuple[str, str]
"""Piece and edge."""
Mates = Mapping[Key, Sequence[Key | None]]
"""What each edge is sewn to: another edge, or None for its own mirrored twin or a fold."""


def review_rounds(pattern: PatternSet) -> Iterator[Finding]:
    """Find girths whose pieces are not those that go round the body."""
    mates: dict[Key, list[Key | None]] = defaultdict(list)
    for seam in pattern.relations.seams.values():
        for ours, theirs in ((seam.lead, seam.follow), (seam.follow, seam.lead)):
            for span in ours:
                others = [(other.piece, other.edge) for other in theirs]
                mates[span.piece, span.edge] += [None] if seam.mirror else others
    for piece, info in pattern.info.items():
        if info.fold is not None:
            mates[piece, info.fold].append(None)
    for girth in pattern.relations.girths.values():
        counts = _count_pieces(pattern, girth)
        infos = [pattern.info[piece] for piece in counts]
        if any(count_halves(info) == 2 or info.cut > 1 for info in infos):
            # Else nothing is said of cutting yet.
            limb = _closes_alone(pattern, girth, counts, mates)
            yield from _judge_counts(pattern, girth, counts, limb=limb)
        missing = [*_find_left_out(pattern, girth), *_find_between(pattern, girth, counts, mates)]
        missing = list(dict.fromkeys(missing))
        one = len(missing) == 1
        if missing:
            yield Finding(
                "girth without a part",
                f"girth '{girth.name}'",
                f"found that it counts {join_names([*counts])} and not {join_names(missing)}, "
                f"which {'lies' if one else 'lie'} between them (or closes the round) when sewn; "
                "expected every part of the round, else the girth is too short. Probably "
                f"{'it was' if one else 'they were'} left out: add it to "
                f"{'runs' if girth.level is None else 'silhouettes'}",
                (*missing, *counts),
            )


def _count_pieces(pattern: PatternSet, girth: Girth) -> dict[str, int]:
    """How often a girth counts each piece; by runs, whatever direction a span is written in."""
    found: Counter[str] = Counter()
    if girth.level is not None:
        for name in girth.silhouettes:
            for piece in silhouette_pieces(pattern, name):
                found[piece] += girth.times
        return found
    spans = [span for run in girth.runs for span in run]
    ways = Counter((span.key, frozenset((span.begin, span.end))) for span in spans)
    for span in spans:
        same = ways[span.key, frozenset((span.begin, span.end))]
        found[span.piece] = max(found[span.piece], same * girth.times)
    return found


def _judge_counts(
    pattern: PatternSet, girth: Girth, counts: Mapping[str, int], *, limb: bool
) -> Iterator[Finding]:
    wrong = {}
    for piece, n in counts.items():
        info = pattern.info[piece]
        # Twice for halves, else once.  Two cut alike count twice as well: whether they should be
        # a pair is told where they are sewn.
        fits = n in (1, info.cut)
        if count_halves(info) == 2:
            # Once round one leg or one sleeve, of which there are two.
            fits = n == 2 or (info.pair and 2 < n <= info.cut) or (n == 1 and limb)
        if not fits:
            wrong[piece] = n
    if wrong and len(wrong) == len(counts):
        wanted = sorted({count_halves(pattern.info[piece]) for piece in counts})
        found = sorted(set(counts.values()))
        yield Finding(
            "girth counts wrongly",
            f"girth '{girth.name}'",
            f"found that it counts every piece {_say_count(found[0])} (times = {girth.times}); "
            f"expected {_say_count(wanted[0])}, as {join_names([*counts])} "
            f"{'are' if len(counts) > 1 else 'is'} cut as pairs or on the fold: the girth comes "
            f"out {found[0] / wanted[0]:g} times what it is. Probably 'times' is a slip (2 is "
            "usual for halves, 1 for runs that go all the way round), or a pair is missing in "
            "[pieces]",
            tuple(counts),
        )
        return
    for piece, n in wrong.items():
        info, halves = pattern.info[piece], count_halves(pattern.info[piece])
        cut = "as a pair or on the fold" if halves == 2 else "without a pair and a fold"
        cure = (
            "Probably the run lacks the other half, or 'times' is a slip"
            if n < halves
            else f"Probably pair = true (with cut = 2) or the fold is missing in [pieces.{piece}], "
            "or the girth counts it twice"
        )
        yield Finding(
            "girth counts wrongly",
            f"girth '{girth.name}', piece '{piece}'",
            f"found that it counts '{piece}' {_say_count(n)}, which is cut {_say_count(info.cut)}, "
            f"{cut}; expected {_say_count(halves)}, as often as it lies on the body. {cure}",
            (piece,),
        )


def _closes_alone(
    pattern: PatternSet, girth: Girth, counts: Mapping[str, int], mates: Mates
) -> bool:
    """Whether the counted pieces are sewn to each other all round, as those of a leg are."""
    sides = set(_list_sides(pattern, girth, counts))
    joined = (set(mates.get(side, ())) for side in sides)
    return bool(sides) and all(None not in own and own & sides for own in joined)


def _say_count(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


# -------------------------------------------------------------------------- left out


def _find_left_out(pattern: PatternSet, girth: Girth) -> list[str]:
    """Pieces that the band on the counted edges is sewn to as well."""
    keys = {span.key for run in girth.runs for span in run}
    for band in pattern.relations.bands.values():
        spans = [span for zone in band.zones for span in zone.run]
        if keys and keys <= {span.key for span in spans}:
            return [span.piece for span in spans if span.key not in keys]
    return []


def _find_between(
    pattern: PatternSet, girth: Girth, counts: Mapping[str, int], mates: Mates
) -> list[str]:
    """Pieces that are sewn to the round along two sides, or along one and closed at the other."""
    stacks = pattern.relations.stacks.values()
    layers = {layer.piece for stack in stacks for layer in stack.layers}
    links: dict[str, set[tuple[Key, Key]]] = {}
    for side in _list_sides(pattern, girth, counts):
        others = [edge for edge in mates.get(side, ()) if edge is not None]
        if not any(piece in counts for piece, _ in others):
            for edge in others:
                if edge[0] not in layers:
                    links.setdefault(edge[0], set()).add((edge, side))
    found = []
    for piece, joins in links.items():
        own = {edge for edge, _ in joins}
        names = pattern.sized(piece, pattern.base).edge_names
        closed = any(
            None in mates.get((piece, edge), ())
            for edge in names
            if (piece, edge) not in own and _crosses_edge(pattern, girth, piece, edge)
        )
        through = all(_crosses_edge(pattern, girth, *edge) for edge in own)
        if through and (closed or (len(own) > 1 and len({side for _, side in joins}) > 1)):
            found.append(piece)
    return found


def _list_sides(pattern: PatternSet, girth: Girth, counts: Mapping[str, int]) -> Iterator[Key]:
    """The edges at which the counted pieces go over into what comes next round the body."""
    if girth.level is not None:
        for piece in counts:
            for edge in pattern.sized(piece, pattern.base).edge_names:
                if _crosses_edge(pattern, girth, piece, edge):
                    yield piece, edge
        return
    for run in girth.runs:
        for span in run:
            sized = pattern.sized(span.piece, pattern.base)
            names = sized.edge_names
            index = names.index(span.edge)
            low, high = sorted(span_ends(sized, span))
            if low <= ON_LINE_MM:
                yield span.piece, names[index - 1]
            if high >= sized.edges[index].length - ON_LINE_MM:
                yield span.piece, names[(index + 1) % len(names)]


def _crosses_edge(pattern: PatternSet, girth: Girth, piece: str, edge: str) -> bool:
    """Whether a girth goes through an edge; a girth by runs knows no level and always may."""
    if girth.level is None:
        return True
    if girth.level not in pattern.sized(piece, pattern.base).levels:
        return False
    return level_place(pattern, (Span(piece, edge),), girth.level, pattern.base) is not None
