"""The stretches of a cut line from which a derived piece is counted, where no parallel tells them.

Beside most edges the cut line is the parallel of the seam line, and where two of these cross is
its corner.  A square corner, a mirrored hem, a step from one allowance to another are none: there
what is counted from the cut line is a parallel of the very stretch of it that belongs to the edge.
"""

from __future__ import annotations

from collections.abc import Sequence

from propagate.engine.derived.lines import refuse_derived
from propagate.engine.finish import allowances, cut_line, odd_corners
from propagate.engine.tape import Silhouette
from propagate.geometry.arrays import Array
from propagate.pattern.derived import DerivedEdge
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Cuts", "cuts_of"]


@dataclass(frozen=True, eq=False)
class Cuts:
    """The allowances that a derived piece is counted from, and what of the cut line is its own.

    Attributes
    ----------
    allowances : mapping of edge of the main piece to mm
    stretches : mapping of edge to (n, 2) array, mm
        Of edges beside which the cut line is more than a parallel.
    """

    allowances: dict[str, float]
    stretches: dict[str, Array]


def cuts_of(
    where: str,
    pattern: PatternSet,
    taped: Silhouette,
    rows: Sequence[DerivedEdge | None],
    closed: Sequence[str],
) -> Cuts:
    """Find what the edges that are counted from the cut line are counted from.

    Raises
    ------
    EditError
        When an edge has no stretch of the cut line of its own, or darts are closed on one beside
        which that is more than a parallel.
    """
    names = dict.fromkeys(row.on for row in rows if row is not None and row.from_cut)
    cuts = Cuts({}, {})
    for edge in names:
        span = taped.segments[edge][0].span
        piece, info = taped.sized[span.piece], pattern.info[span.piece]
        cuts.allowances[edge] = allowances(piece, info)[span.edge]
    if not names:
        return cuts
    if taped.name not in taped.sized:
        _refuse_parts(where, pattern, taped, names)
        return cuts
    piece, info = taped.sized[taped.name], pattern.info[taped.name]
    odd = {edge for pair in odd_corners(piece, info) for edge in pair}
    own = [edge for edge in names if edge in odd]
    stretches = cut_line(piece, info).stretches if own else {}
    for edge in own:
        if edge in closed:
            raise refuse_derived(
                where,
                f"darts are closed on '{edge}', beside which the cut line has a corner that is no "
                "mitre, expected one or the other; derive a piece with the darts closed, and this "
                "one from that",
            )
        if len(stretches[edge]) != 1:
            raise refuse_derived(
                where,
                f"{len(stretches[edge])} stretches of the cut line are those of '{edge}', since "
                "allowances beside it lie over it, expected one; make these narrower, or count "
                "from the seam line (leave from_cut out)",
            )
        cuts.stretches[edge] = stretches[edge][0]
    return cuts


def _refuse_parts(
    where: str, pattern: PatternSet, taped: Silhouette, names: dict[str, None]
) -> None:
    """Refuse corners of an assembly where its parts do not mitre: it has no cut line itself."""
    outline = [edge.name for edge in taped.edges]
    for before, after in zip(outline, (*outline[1:], outline[0]), strict=True):
        spans = taped.segments[before][-1].span, taped.segments[after][0].span
        piece = spans[0].piece
        if spans[1].piece != piece or not {before, after} & names.keys():
            continue
        pair = spans[0].edge, spans[1].edge
        if pair in odd_corners(taped.sized[piece], pattern.info[piece]):
            raise refuse_derived(
                where,
                f"corner '{pair[0]}/{pair[1]}' of the cut line of '{piece}' is no mitre, expected "
                "one where a piece is counted from the cut line of an assembly; derive it from "
                f"'{piece}', or count from the seam line (leave from_cut out)",
            )
