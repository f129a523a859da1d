"""What jumps across the nest: a size out of line, in another unit, turned, not graded."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from propagate.engine.review.finding import Finding
from propagate.engine.review.line import expected_beside, median
from propagate.engine.review.measures import Measured, find_out_of_line, measure_pieces
from propagate.engine.review.units import find_other_units
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span
from propagate.tolerances import OFF_GRAIN_DEG, ON_LINE_MM, OUT_OF_LINE_MM

__all__ = ["review_sizes"]

Array = npt.NDArray[np.float64]

_MOST = 3
"""Measures of one piece and size that are told one by one."""
_GRADED_MM = 0.5
"""A piece of which no edge changes by more is not graded at that step."""
_TURNED = 0.5
"""A size is only turned when turning it back takes away this much of what parts it."""
_EXCHANGED = 0.2
"""Two sizes are exchanged when the nest runs this much smoother the other way round."""


def review_sizes(pattern: PatternSet) -> Iterator[Finding]:
    """Compare every size of every piece with the sizes beside it.

    Silent for a set with fewer than three sizes, in which nothing has neighbours.
    """
    if len(pattern.sizes) < 3:
        return
    nest = measure_pieces(pattern)
    units = {piece: list(_find_other_unit(pattern, piece, of)) for piece, of in nest.items()}
    whole = {piece: of for piece, of in nest.items() if not units[piece]}
    disorder = list(_judge_order(pattern, whole))
    yield from disorder
    # A size that is another, or lies otherwise: every measure of it jumps for one reason.  Out of
    # order every measure jumps too; to tell each would bury the reason.
    lie: dict[str, list[Finding]] = {}
    for piece, of in () if disorder else whole.items():
        lie[piece] = [
            *_find_exchanged(pattern, piece, of),
            *_find_turned(pattern, piece, of),
        ]
    sound = {piece: whole[piece] for piece, found in lie.items() if not found}
    rigid = {f"{mouth.piece}.{mouth.edge}" for mouth in pattern.relations.openings.values()}
    off = find_out_of_line(sound, rigid)
    for piece, of in nest.items():
        yield from units[piece]
        yield from lie.get(piece, ())
        alike = _find_alike(pattern, nest, piece) if piece in sound else None
        if alike is not None:
            here, after = pattern.sizes[alike], pattern.sizes[alike + 1]
            yield Finding(
                "size not graded",
                f"piece '{piece}', sizes '{here}' and '{after}'",
                "found the same outline in both sizes, where the piece changes at every "
                "other step and what it is sewn to changes here too, expected the same of "
                "it; most likely grading was forgotten, or one drawing was copied twice. "
                "Compare both with the sizes beside them; nothing is wrong when it is meant",
                (piece,),
            )
        for at, said in sorted(off.get(piece, {}).items()):
            if alike is None or at not in (alike, alike + 1):
                yield _tell_jump(pattern, piece, at, said, of)


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


def _find_other_unit(pattern: PatternSet, piece: str, of: Measured) -> Iterator[Finding]:
    round_ = of.lengths.sum(axis=0)
    for at, others, words in find_other_units(round_):
        yield Finding(
            "size in another unit",
            f"piece '{piece}', size '{pattern.sizes[at]}'",
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
                f"piece '{piece}', size '{first}' and '{second}'",
                f"found an outline of {of.lengths[:, at].sum():.1f} mm in '{first}' and of "
                f"{of.lengths[:, at + 1].sum():.1f} mm in '{second}', expected it to change in "
                "one direction from size to size; most likely the drawings of the two sizes are "
                "exchanged. Exchange their names",
                (piece,),
            )


def _find_turned(pattern: PatternSet, piece: str, of: Measured) -> Iterator[Finding]:
    """A size that lies otherwise to its grain than the sizes beside it."""
    base = pattern.sizes.index(pattern.base)
    fit = (np.conj(of.chords[:, [base]]) * of.chords).sum(axis=0)
    if np.abs(np.degrees(np.angle(fit))).max() < OFF_GRAIN_DEG:
        return
    turns = [_measure_turn(fit, at) for at in range(len(fit))]
    # Sure is what is left of a turn when three times the scatter of the others is taken off.
    sure = [abs(turn) - 3 * scatter for turn, scatter in turns]
    at = int(np.argmax(sure))
    turn, _ = turns[at]
    # A size that, turned back, does not lie on the size beside it has another shape.
    own, beside = of.chords[:, at], of.chords[:, at - 1 if at else 1]
    back = own * np.exp(-1j * np.radians(turn))
    only_turned = np.abs(back - beside).sum() < _TURNED * np.abs(own - beside).sum()
    if sure[at] <= OFF_GRAIN_DEG or not only_turned:
        return
    likely = (
        "most likely the piece or its grain line was turned in this size: it would be cut "
        "off the grain, and hang and stretch otherwise. Turn it or its grain line back"
    )
    if abs(turn) > 180.0 - OFF_GRAIN_DEG:
        likely = (
            "most likely its grain line is drawn from the other end, and the piece is laid against "
            "nap or print. Draw the grain of every size in one direction"
        )
    yield Finding(
        "size off the grain",
        f"piece '{piece}', size '{pattern.sizes[at]}'",
        f"found the outline turned by {abs(turn):.0f}° against the grain line, compared with "
        f"the other sizes, expected the same direction in every size; {likely}",
        (piece,),
    )


def _measure_turn(fit: npt.NDArray[np.complex128], at: int) -> tuple[float, float]:
    """By how much a size is turned against the line of the others, and their scatter, degrees."""
    places = np.delete(np.arange(len(fit)), at)
    rest = np.degrees(np.unwrap(np.angle(fit[places])))
    line = np.polynomial.polynomial.polyfit(places, rest, 1)
    scatter = float(np.abs(rest - np.polynomial.polynomial.polyval(places, line)).max())
    expected = float(np.polynomial.polynomial.polyval(at, line))
    return float(np.degrees(np.angle(fit[at] * np.exp(-1j * np.radians(expected))))), scatter


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


def _tell_jump(pattern: PatternSet, piece: str, at: int, said: list[str], of: Measured) -> Finding:
    told = ", ".join(said[:_MOST])
    if len(said) > _MOST:
        told += f" and {len(said) - _MOST} more"
    cure = _tell_mirrored(of, at) or (
        "most likely a point slipped, a number was mistyped, or a change went into this size "
        "alone. Lay the three sizes over each other, and correct this one or tell that it is meant"
    )
    sizes = pattern.sizes
    beside = (1, 2) if at == 0 else (-3, -2) if at == len(sizes) - 1 else (at - 1, at + 1)
    return Finding(
        "size out of line",
        f"piece '{piece}', size '{sizes[at]}'",
        f"found {told}, expected a size in line with '{sizes[beside[0]]}' and "
        f"'{sizes[beside[1]]}' beside it; {cure}",
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
