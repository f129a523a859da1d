"""Girths that count a piece too often or too seldom, or leave a part of the round out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from propagate.engine.review.cutting import halves
from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import layers_of, level_place, listed
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Girth, Span
from propagate.pattern.spans import span_ends
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["rounds"]

Key = tuple[str, str]
"""Piece and edge."""


@dataclass(frozen=True)
class _Mate:
    """What an edge is sewn to: another edge, or None for its own mirrored twin or a fold."""

    edge: Key | None


def rounds(pattern: PatternSet) -> Iterator[Finding]:
    """Find girths whose pieces are not those that go round the body."""
    mates = _find_mates(pattern)
    for girth in pattern.relations.girths.values():
        counts = _count_pieces(pattern, girth)
        infos = [pattern.info[piece] for piece in counts]
        if any(halves(info) == 2 or info.cut > 1 for info in infos):
            yield from _judge_counts(pattern, girth, counts)  # else nothing is said of cutting yet
        missing = [*_left_out_of_band(pattern, girth)]
        missing += [p for p in _find_between(pattern, girth, counts, mates) if p not in missing]
        if missing:
            yield Finding(
                "girth without a part",
                f"girth '{girth.name}'",
                f"found that it counts {listed([*counts])} and not {listed(missing)}, which "
                f"{'lies' if len(missing) == 1 else 'lie'} between them (or closes the round) when "
                "sewn; expected every part of the round, else the girth is too short. Probably "
                f"{'it was' if len(missing) == 1 else 'they were'} left out: add it to "
                f"{'runs' if girth.level is None else 'silhouettes'}",
                (*missing, *counts),
            )


def _count_pieces(pattern: PatternSet, girth: Girth) -> dict[str, int]:
    """How often a girth counts each piece."""
    found: dict[str, int] = {}
    if girth.level is None:
        spans = [span for run in girth.runs for span in run]
        for span in dict.fromkeys(spans):
            same = sum(_drop_direction(one) == _drop_direction(span) for one in spans)
            found[span.piece] = max(found.get(span.piece, 0), same * girth.times)
        return found
    assemblies = pattern.relations.assemblies
    for name in girth.silhouettes:
        assembly = assemblies.get(name)
        parts = [name] if assembly is None else [assembly.lead, *(p.piece for p in assembly.parts)]
        for piece in parts:
            found[piece] = found.get(piece, 0) + girth.times
    return found


def _drop_direction(span: Span) -> tuple[str, frozenset[str]]:
    """A span whatever its direction."""
    return span.key, frozenset((span.begin, span.end))


def _judge_counts(
    pattern: PatternSet, girth: Girth, counts: Mapping[str, int]
) -> Iterator[Finding]:
    wrong = {piece: n for piece, n in counts.items() if not _may_be(pattern, piece, n)}
    if not wrong:
        return
    if len(wrong) == len(counts):
        wanted = sorted({halves(pattern.info[piece]) for piece in counts})
        found = sorted(set(counts.values()))
        yield Finding(
            "girth counts wrongly",
            f"girth '{girth.name}'",
            f"found that it counts every piece {_say_count(found[0])} (times = {girth.times}); "
            f"expected {_say_count(wanted[0])}, as {listed([*counts])} "
            f"{'are' if len(counts) > 1 else 'is'} cut as pairs or on the fold: the girth comes "
            f"out {found[0] / wanted[0]:g} times what it is. Probably 'times' is a slip (2 is "
            "usual for halves, 1 for runs that go all the way round), or a pair is missing in "
            "[pieces]",
            tuple(counts),
        )
        return
    for piece, n in wrong.items():
        info = pattern.info[piece]
        cut = "as a pair or on the fold" if halves(info) == 2 else "without a pair and a fold"
        cure = (
            "Probably the run lacks the other half, or 'times' is a slip"
            if n < halves(info)
            else f"Probably pair = true (with cut = 2) or the fold is missing in [pieces.{piece}], "
            "or the girth counts it twice"
        )
        yield Finding(
            "girth counts wrongly",
            f"girth '{girth.name}', piece '{piece}'",
            f"found that it counts '{piece}' {_say_count(n)}, which is cut {info.cut} times, "
            f"{cut}; expected {_say_count(halves(info))}, once for each half of the body. {cure}",
            (piece,),
        )


def _may_be(pattern: PatternSet, piece: str, count: int) -> bool:
    """Whether a piece can go so often round the body: twice for halves, else once.

    Two cut alike count twice as well: whether they should be a pair is told where they are sewn.
    """
    info = pattern.info[piece]
    if halves(info) == 2:
        return count == 2 or (info.pair and 2 < count <= info.cut)
    return count == 1 or count == info.cut


def _say_count(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


# -------------------------------------------------------------------------- left out


def _left_out_of_band(pattern: PatternSet, girth: Girth) -> list[str]:
    """Pieces that the band on the counted edges is sewn to as well."""
    keys = {span.key for run in girth.runs for span in run}
    for band in pattern.relations.bands.values():
        spans = [span for zone in band.zones for span in zone.run]
        if keys and keys <= {span.key for span in spans}:
            return [*dict.fromkeys(span.piece for span in spans if span.key not in keys)]
    return []


def _find_mates(pattern: PatternSet) -> dict[Key, list[_Mate]]:
    found: dict[Key, list[_Mate]] = {}
    for seam in pattern.relations.seams.values():
        for ours, theirs in ((seam.lead, seam.follow), (seam.follow, seam.lead)):
            for span in ours:
                mates = [_Mate((other.piece, other.edge)) for other in theirs]
                found.setdefault((span.piece, span.edge), []).extend(
                    [_Mate(None)] if seam.mirror else mates
                )
    for name, info in pattern.info.items():
        if info.fold is not None:
            found.setdefault((name, info.fold), []).append(_Mate(None))
    return found


def _find_between(
    pattern: PatternSet, girth: Girth, counts: Mapping[str, int], mates: Mapping[Key, list[_Mate]]
) -> list[str]:
    """Pieces that are sewn to the round along two sides, or along one and closed at the other."""
    layers = layers_of(pattern)
    links: dict[str, set[tuple[Key, Key]]] = {}
    for side in _list_sides(pattern, girth, counts):
        others = [mate.edge for mate in mates.get(side, ()) if mate.edge is not None]
        if not any(edge[0] in counts for edge in others):
            for edge in others:
                if edge[0] not in layers:
                    links.setdefault(edge[0], set()).add((edge, side))
    found = []
    for piece, joins in links.items():
        own = {edge for edge, _ in joins}
        closed = any(
            mate.edge is None
            for edge in pattern.sized(piece, pattern.base).edge_names
            for mate in mates.get((piece, edge), ())
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
