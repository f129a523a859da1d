"""True what an edit disturbed: the stage that follows every edit.

A line that ran on smoothly across a seam (a waist, a hem, a neckline, an armhole) runs on
after an edit as well.  What was a peak before stays one, and so does one that the set wants.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from propagate.engine.carry import carry_all
from propagate.engine.column import ColumnPieces
from propagate.engine.job import Drawn, Edit, Job
from propagate.engine.record import Notice, Record
from propagate.engine.result import Result
from propagate.engine.walk import walk
from propagate.engine.walk_checks import check_corners, corner_angles, corner_edges
from propagate.errors import PropagateError
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam
from propagate.tolerances import CORNER_SUM_DEG
from propagate.values import dataclass

if TYPE_CHECKING:
    from propagate.engine.edits.true_corners import TrueCorners

__all__ = ["Corners", "Disturbed", "true_sizes", "with_corners_trued"]

Corners = Literal["trued", "left"]
"""What becomes of a corner at which a line no longer runs on."""
Lookup = Callable[[str], SizedPiece]

_BREAKS = "what is sewn there would no longer fit ({what}); redraw the lines by hand"


@dataclass(frozen=True)
class Disturbed:
    """A corner at which a line ran on smoothly across a seam, and no longer does.

    Attributes
    ----------
    seam : Seam
    end : str
        Of the seam.
    total : float
        Both corner angles together, as they are now, degrees.
    """

    seam: Seam
    end: str
    total: float

    @property
    def key(self) -> tuple[str, str]:
        """The seam by its name, and the end."""
        return self.seam.name, self.end

    def left(self, why: str) -> Notice:
        """What is told of it where it is left as it is."""
        lines = tuple(dict.fromkeys(self.seam.crossing[self.end]))
        run, them = ("runs", "it") if len(lines) == 1 else ("run", "them")
        return Notice(
            self.seam.name,
            f"{' and '.join(lines)} no longer {run} on smoothly at its {self.end} "
            f"({self.total:.1f}° together, expected 180°), and the corner was not trued: {why}",
            f"true {them} by hand, or leave {them} if the peak or dip is meant",
        )


def with_corners_trued(job: Job, drawn: Drawn, result: Result) -> Result:
    """What an edit gave, with the corners trued that it disturbed."""
    pieces = result.pattern.pieces
    if not drawn.trued or not isinstance(pieces, ColumnPieces):
        return result
    sizes = dict.fromkeys((job.size, *job.levels.values()))
    before = [job.pattern.in_size(size) for size in sizes]
    now = result.pattern.in_size(job.name)
    off = [
        corner
        for name, end in _find_crossings(job.pattern, pieces.changed)
        for seam in [result.pattern.relations.seams[name]]
        if not _stays_put(before[0], now, seam, end)
        and not _runs_on((corner := _measure_corner(now, seam, end)).total)
        and _ran_on(before, corner)
    ]
    if not off:
        return result
    # Few edits leave a corner to be trued; the others do not wait for what does it.
    from propagate.engine.edits.true_corners import TrueCorners
    from propagate.engine.summed import with_trued

    more = _true_corners(result.pattern, TrueCorners(job.name, tuple(off), drawn.kept, job.follow))

    def told() -> Record:
        return with_trued(
            result.record,
            _walked_again(more.record, more.pattern, job.name),
            job.pattern.sized,
            more.pattern.in_size(job.name),
            pieces.source_size,
        )

    return Result(more.pattern, told)


def true_sizes(
    before: PatternSet,
    now: PatternSet,
    records: Mapping[str, Record],
    *,
    kept: frozenset[str] = frozenset(),
    follow: Literal["shape", "length"] = "length",
) -> tuple[PatternSet, dict[str, Record]]:
    """True the corners that were disturbed, in some sizes of a set alike.

    A corner that was disturbed in one of the sizes is trued in all of them, so that the sizes
    stay as even as they were.

    Parameters
    ----------
    before, now : PatternSet
    records : mapping of size to Record
        Of the sizes that were changed.
    kept : frozenset of str
        Edges that stay as they were drawn: see `Drawn`.
    follow : "shape" or "length"
        A mate takes the shape that its lead got, or its length alone.
    """
    from propagate.engine.edits.true_corners import TrueCorners
    from propagate.engine.revised import merged_sizes
    from propagate.engine.summed import with_trued

    changed = [name for name, piece in now.pieces.items() if piece is not before.pieces[name]]
    ends = [(now.relations.seams[name], end) for name, end in _find_crossings(now, changed)]
    found = {size: [_measure_corner(now.in_size(size), *one) for one in ends] for size in records}
    bent = {one.key for many in found.values() for one in many if not _runs_on(one.total)}
    were = {
        size: [one for one in many if one.key in bent and _ran_on([before.in_size(size)], one)]
        for size, many in found.items()
    }
    off = {one.key for many in were.values() for one in many if not _runs_on(one.total)}
    results = {
        size: _true_corners(now, TrueCorners(size, asked, kept, follow))
        for size, many in were.items()
        if (asked := tuple(one for one in many if one.key in off))
    }
    told = {
        size: with_trued(
            records[size],
            _walked_again(result.record, result.pattern, size),
            before.sized,
            result.pattern.in_size(size),
            dict.fromkeys(now.pieces, size).__getitem__,
        )
        for size, result in results.items()
    }
    return merged_sizes(now, results), {**records, **told}


def _walked_again(trued: Record, pattern: PatternSet, size: str) -> Record:
    """The record with a row for every corner that was trued.

    Lines that cross a seam bend without a line of the seam itself: nothing else walks it again.
    """
    known = {(row.name, row.end) for row in trued.walked_corners}
    rows = [
        replace(row, relation=corner.name)
        for corner in trued.trued_corners
        for row in check_corners(pattern.in_size(size), pattern.relations.seams[corner.name])
        if row.end == corner.end and (corner.name, corner.end) not in known
    ]
    return replace(trued, corners=(*rows, *trued.corners)) if rows else trued


def _find_crossings(pattern: PatternSet, changed: Collection[str]) -> list[tuple[str, str]]:
    """Seams, in their order, and their ends at which a line of a changed piece crosses them."""
    relations = pattern.relations
    touched = {seam.name: seam for piece in changed for seam in relations.crossed_on.get(piece, ())}
    return [
        (name, end)
        for name in sorted(touched, key=relations.place_of_seam.__getitem__)
        for end in touched[name].crossing
        if end not in touched[name].peak
    ]


def _measure_corner(now: Lookup, seam: Seam, end: str) -> Disturbed:
    return Disturbed(seam, end, sum(corner_angles(now, seam, end)))


def _stays_put(was: Lookup, now: Lookup, seam: Seam, end: str) -> bool:
    """Whether all lines that meet at a corner lie there as they lay."""
    sides = zip(corner_edges(was, seam, end), corner_edges(now, seam, end), strict=True)
    return all(
        old_before.arrives_as(before) and old_after.leaves_as(after)
        for (old_before, old_after), (before, after) in sides
    )


def _ran_on(before: Sequence[Lookup], corner: Disturbed) -> bool:
    """Whether the line ran on smoothly at a corner before, in every size it was made of."""
    return all(_runs_on(sum(corner_angles(was, corner.seam, corner.end))) for was in before)


def _true_corners(pattern: PatternSet, edit: TrueCorners) -> Result:
    """True corners; where something would no longer sew, those alone with which all does."""
    result, _ = _try_edit(pattern, edit)
    if result is not None:
        return result
    alone = [_try_edit(pattern, replace(edit, corners=(one,)))[1] for one in edit.corners]
    fits = tuple(one for one, why in zip(edit.corners, alone, strict=True) if not why)
    told = [one.left(why) for one, why in zip(edit.corners, alone, strict=True) if why]
    result, why = _try_edit(pattern, replace(edit, corners=fits, told=tuple(told)))
    if result is None:
        told += [one.left(why) for one in fits]
        result = _run_edit(pattern, replace(edit, corners=(), told=tuple(told)))
    return result


def _runs_on(total: float) -> bool:
    return abs(total - 180.0) <= CORNER_SUM_DEG


def _run_edit(pattern: PatternSet, edit: Edit) -> Result:
    job = edit.job(pattern)
    return carry_all(job, edit.draw(job))


def _try_edit(pattern: PatternSet, edit: TrueCorners) -> tuple[Result | None, str]:
    """True corners; None and the reason where something would no longer sew."""
    try:
        result = _run_edit(pattern, edit)
        broken = _find_broken(pattern, edit.size, result)
    except PropagateError as error:
        where, _, why = str(error).partition(": ")
        return None, why or where  # the notice says itself where
    return (None, _BREAKS.format(what=broken)) if broken else (result, "")


def _find_broken(pattern: PatternSet, size: str, result: Result) -> str:
    """What sewed before and does not now; empty for nothing."""
    if result.sews:
        return ""
    record = result.record
    lost = [row.opening for row in record.openings if not row.ok]
    lost += [row.piece for row in record.stacks if row.fits is False]
    known = {
        (check.kind, check.name, check.what)
        for check in walk(pattern, size, cut_lines=False).checks
        if check.verdict == "does not sew"
    }
    lost += [
        row.name
        for row in (*record.seams, *record.bands)
        if row.verdict == "does not sew" and (row.kind, row.name, row.what) not in known
    ]
    return ", ".join(dict.fromkeys(lost))
