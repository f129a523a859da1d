"""What jumps across the nest: a size out of line, in another unit, turned, not graded."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from propagate.engine.review.finding import Finding
from propagate.engine.review.line import expected_beside, median
from propagate.engine.review.measures import Measured, measured
from propagate.engine.review.rows import out_of_line_words
from propagate.engine.review.turned import turned_sizes
from propagate.engine.review.units import unit_of_ratio
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span
from propagate.tolerances import ON_LINE_MM, OUT_OF_LINE_MM

__all__ = ["review_sizes"]

Array = npt.NDArray[np.float64]

_MOST = 3
"""Measures of one piece and size that are told one by one."""
_GRADED_MM = 0.5
"""A piece of which no edge changes by more is not graded at that step."""
_EXCHANGED = 0.2
"""Two sizes are exchanged when the nest runs this much smoother the other way round."""


def review_sizes(pattern: PatternSet) -> Iterator[Finding]:
    """Compare every size of every piece with the sizes beside it.

    Silent for a set with fewer than three sizes, in which nothing has neighbours.
    """
    if len(pattern.sizes) < 3:
        return
    nest = measured(pattern)
    units = {piece: list(_other_unit(pattern, piece, of)) for piece, of in nest.items()}
    whole = {piece: of for piece, of in nest.items() if not units[piece]}
    disorder = list(_judge_order(pattern, whole))
    yield from disorder
    # out of order every measure jumps; to tell each would bury the reason
    lie = (
        {}
        if disorder
        else {piece: list(_judge_lie(pattern, piece, of)) for piece, of in whole.items()}
    )
    sound = {piece: of for piece, of in whole.items() if not disorder and not lie[piece]}
    rigid = {f"{mouth.piece}.{mouth.edge}" for mouth in pattern.relations.openings.values()}
    off = out_of_line_words(sound, rigid)
    for piece, of in nest.items():
        yield from units[piece]
        yield from lie.get(piece, ())
        alike = _find_alike(pattern, nest, piece) if piece in sound else None
        if alike is not None:
            yield _not_graded(pattern, piece, alike)
        for at, said in sorted(off.get(piece, {}).items()):
            if alike is None or at not in (alike, alike + 1):
                yield _tell_jump(pattern, piece, pattern.sizes[at], said, of)


# ------------------------------------------------------------------------ order of sizes


def _judge_order(pattern: PatternSet, nest: dict[str, Measured]) -> Iterator[Finding]:
    """Sizes that are not listed smallest first: most pieces shrink from one to the next."""
    if not nest:
        return
    sums = np.array([of.lengths.sum(axis=0) for of in nest.values()])
    steps = np.diff(sums, axis=1)
    down, up = (steps < -OUT_OF_LINE_MM).sum(axis=0), (steps > OUT_OF_LINE_MM).sum(axis=0)
    if (down <= up).all():
        return
    sums = sums[np.ptp(sums, axis=1) > OUT_OF_LINE_MM]
    share = (sums / median(sums)[:, None]).mean(axis=0)
    order = np.argsort(share, kind="stable")
    turned = bool((np.diff(order) == -1).all())
    smoother = turned or _measure_roughness(sums[:, order]) < _EXCHANGED * _measure_roughness(sums)
    # one piece that is wrong is told with the piece: most of them must grow in that order
    growing = (np.diff(sums[:, order], axis=1) > -OUT_OF_LINE_MM).all(axis=1)
    if not smoother or growing.sum() * 2 <= len(sums):
        return
    places = [
        f"from '{a}' to '{b}' {down[i]} of {down[i] + up[i]}"
        for i, (a, b) in enumerate(pairwise(pattern.sizes))
        if down[i] > up[i]
    ]
    yield Finding(
        "sizes out of order",
        f"set '{pattern.name}', sizes",
        f"found pieces that get smaller towards the larger size ({', '.join(places[:3])} graded "
        "pieces do), expected every size to be larger than the one before; most likely the sizes "
        f"are not listed smallest first. By the pieces' outlines their order is "
        f"{', '.join(pattern.sizes[i] for i in order)}; correct 'sizes', and the rows of the chart "
        "with it",
    )


def _measure_roughness(lengths: Array) -> float:
    """How much a nest jumps to and fro: the sum of its second differences, mm."""
    return float(np.abs(np.diff(lengths, n=2, axis=1)).sum())


# ------------------------------------------------------------------------- piece by piece


def _judge_lie(pattern: PatternSet, piece: str, of: Measured) -> Iterator[Finding]:
    """A size that is another, or lies otherwise: every measure of it jumps for one reason."""
    yield from _find_exchanged(pattern, piece, of)
    yield from turned_sizes(pattern, piece, of)


def _name_place(piece: str, size: str) -> str:
    return f"piece '{piece}', size '{size}'"


def _name_beside(pattern: PatternSet, at: int) -> str:
    sizes = pattern.sizes
    if 0 < at < len(sizes) - 1:
        return f"'{sizes[at - 1]}' and '{sizes[at + 1]}'"
    return f"'{sizes[1]}' and '{sizes[2]}'" if at == 0 else f"'{sizes[-3]}' and '{sizes[-2]}'"


def _other_unit(pattern: PatternSet, piece: str, of: Measured) -> Iterator[Finding]:
    round_ = of.lengths.sum(axis=0)
    if round_.max() < 2 * round_.min():
        return
    for at, size in enumerate(pattern.sizes):
        others = float(median(np.delete(round_, at)))
        words = unit_of_ratio(float(round_[at]) / others, 0.25)
        if words is not None:
            yield Finding(
                "size in another unit",
                _name_place(piece, size),
                f"found an outline of {round_[at]:.1f} mm where the other sizes have about "
                f"{others:.0f} mm, expected a size between its neighbours; most likely this size "
                f"was drawn {words}. Read its drawing again in its own unit",
                (piece,),
            )


def _find_exchanged(pattern: PatternSet, piece: str, of: Measured) -> Iterator[Finding]:
    if len(pattern.sizes) < 4:
        return
    steps = np.diff(of.lengths.sum(axis=0))
    if not ((steps > OUT_OF_LINE_MM).any() and (steps < -OUT_OF_LINE_MM).any()):
        return
    now = _measure_roughness(of.lengths)
    for at in range(len(steps)):
        if steps[at] * median(np.delete(steps, at)) >= 0.0 or abs(steps[at]) <= OUT_OF_LINE_MM:
            continue
        order = np.arange(len(pattern.sizes))
        order[[at, at + 1]] = order[[at + 1, at]]
        if _measure_roughness(of.lengths[:, order]) < _EXCHANGED * now:
            first, second = pattern.sizes[at], pattern.sizes[at + 1]
            yield Finding(
                "sizes exchanged",
                _name_place(piece, first) + f" and '{second}'",
                f"found an outline of {of.lengths[:, at].sum():.1f} mm in '{first}' and of "
                f"{of.lengths[:, at + 1].sum():.1f} mm in '{second}', expected it to change in "
                "one direction from size to size; most likely the drawings of the two sizes are "
                "exchanged. Exchange their names",
                (piece,),
            )


def _find_alike(pattern: PatternSet, nest: dict[str, Measured], piece: str) -> int | None:
    """Place of the one size that is as the next, though what it is sewn to changes there.

    Pieces that sizes share on purpose, such as patch pockets, are sewn on to nothing that grows.
    """
    moved = np.abs(np.diff(nest[piece].lengths, axis=1)).max(axis=0)
    alike = moved <= ON_LINE_MM
    if alike.sum() != 1 or not (moved[~alike] > _GRADED_MM).all():
        return None
    at = int(np.argmax(alike))
    for mate, edge in _find_mates(pattern, piece):
        row = nest[mate].lengths[nest[mate].edges.index(edge)]
        if abs(row[at + 1] - row[at]) > _GRADED_MM:
            return at
    return None


def _find_mates(pattern: PatternSet, piece: str) -> Iterator[tuple[str, str]]:
    """Edges of other pieces that a piece is sewn to, in seams and bands."""
    relations = pattern.relations
    pairs = [(seam.lead, seam.follow) for seam in relations.seams.values()]
    pairs += [
        (zone.run, (Span(band.piece, band.sewn),))
        for band in relations.bands.values()
        for zone in band.zones
    ]
    for one, other in pairs:
        for ours, theirs in ((one, other), (other, one)):
            if any(span.piece == piece for span in ours):
                yield from ((s.piece, s.edge) for s in theirs if s.piece != piece)


def _not_graded(pattern: PatternSet, piece: str, at: int) -> Finding:
    first, second = pattern.sizes[at], pattern.sizes[at + 1]
    return Finding(
        "size not graded",
        f"piece '{piece}', sizes '{first}' and '{second}'",
        "found the same outline in both sizes, where the piece changes at every other step and "
        "what it is sewn to changes here too, expected the same of it; most likely grading was "
        "forgotten, or one drawing was copied twice. Compare both with the sizes beside them; "
        "nothing is wrong when it is meant",
        (piece,),
    )


def _tell_jump(
    pattern: PatternSet, piece: str, size: str, said: list[str], of: Measured
) -> Finding:
    at = pattern.sizes.index(size)
    told = ", ".join(said[:_MOST])
    if len(said) > _MOST:
        told += f" and {len(said) - _MOST} more"
    cure = _tell_mirrored(of, at) or (
        "most likely a point slipped, a number was mistyped, or a change went into this size "
        "alone. Lay the three sizes over each other, and correct this one or tell that it is meant"
    )
    return Finding(
        "size out of line",
        _name_place(piece, size),
        f"found {told}, expected a size in line with {_name_beside(pattern, at)} beside it; {cure}",
        (piece,),
    )


def _tell_mirrored(of: Measured, at: int) -> str | None:
    """Words for a size whose edges fit the others' better when gone round the other way."""
    if len(of.edges) < 3:
        return None
    expected = np.array([expected_beside(row, at) for row in of.lengths])
    found = of.lengths[:, at]
    as_named = float(np.abs(found - expected).sum())
    others = [np.roll(found[::-1], shift) for shift in range(len(found))]
    others += [np.roll(found, shift) for shift in range(1, len(found))]
    best = min(float(np.abs(other - expected).sum()) for other in others)
    if as_named <= OUT_OF_LINE_MM or best > 0.1 * as_named:
        return None
    return (
        "most likely this size was drawn mirrored, or its edges were named from another corner: "
        "the lengths fit when they are gone round otherwise. Turn the drawing over or name the "
        "edges as in the sizes beside it"
    )
