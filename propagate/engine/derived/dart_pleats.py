"""Notches of a derived piece at the legs of darts that are pleats in it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.derived.lines import refuse_derived
from propagate.engine.derived.region import Region
from propagate.engine.marks_on_lines import make_mark, nearest_place, put_mark
from propagate.geometry.arrays import Array
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate, nearest_point, point_at
from propagate.pattern.dart_pleats import DartPleat, dart_pleats
from propagate.pattern.derived import Derived
from propagate.pattern.model import Landmark, SizedPiece
from propagate.pattern.relations import Assembly
from propagate.tolerances import RESTS_MM
from propagate.values import dataclass

__all__ = ["MeantPleat", "notches_off", "pleat_said", "pleats_on", "with_dart_pleats"]


@dataclass(frozen=True, eq=False)
class MeantPleat:
    """A pleat in place of a dart, its notches beside the legs: (2,) in the main piece's frame."""

    made: DartPleat
    first: Array
    second: Array

    @property
    def take(self) -> float:
        """What it takes up, from notch to notch, mm."""
        return float(np.hypot(*(self.second - self.first)))

    @property
    def notches(self) -> Iterator[tuple[str, Array]]:
        """The name and the place of each notch."""
        return zip(self.made.pleat.marks, (self.first, self.second), strict=True)


def pleats_on(
    derived: Derived,
    region: Region,
    assemblies: Mapping[str, Assembly],
    piece: SizedPiece,
    laid: Motion,
) -> tuple[MeantPleat, ...]:
    """Return the pleats in place of darts of which both legs lie on the piece.

    Parameters
    ----------
    assemblies : mapping of name to Assembly
    laid : Motion
        Its frame to the main piece's.
    """
    found = []
    for made in dart_pleats(derived, assemblies, region.taped.sized.get):
        line = region.lines[piece.edge_names.index(made.pleat.edge)]
        plain = made.piece == region.taped.name
        legs = [leg if plain else f"{made.piece}.{leg}" for leg in made.dart.legs]
        if line is None or any(leg not in line.places for leg in legs):
            continue
        places = [nearest_point(line.points, point_at(line.base, line.places[leg])) for leg in legs]
        drawn = laid.apply(piece.edge(made.pleat.edge).points)
        if all(locate(drawn, place)[1] <= derived.tolerance for place in places):
            found.append(MeantPleat(made, places[0], places[1]))
    return tuple(found)


def with_dart_pleats(
    where: str,
    drawn: SizedPiece,
    pleats: tuple[Sequence[MeantPleat], Sequence[MeantPleat]],
    laid: Motion,
    named: Collection[str],
) -> SizedPiece:
    """Return the piece with a notch at each leg of the darts that are pleats in it.

    Parameters
    ----------
    where : str
        The piece and the size, for messages.
    drawn : SizedPiece
        Its edges as they are now.
    pleats : (sequence of MeantPleat, sequence of MeantPleat)
        Before, and now.
    laid : Motion
        Its frame to the main piece's.
    named : collection of str
        Landmarks of it that the set names: they stay when the dart is gone.

    Raises
    ------
    EditError
        When a notch would be called as a mark elsewhere is.
    """
    old, new = ([one.made.pleat for one in time] for time in pleats)
    if not old and not new:
        return drawn
    stay = {(pleat.edge, mark) for pleat in new for mark in pleat.marks}
    gone = {(p.edge, mark) for p in old for mark in p.marks if mark not in named} - stay
    marks = {m.name: m for m in drawn.landmarks if (m.edge, m.name) not in gone}
    back = laid.inverse()
    for one in pleats[1]:
        edge = drawn.edge(one.made.pleat.edge)
        for name, point in one.notches:
            place, mark = nearest_place(edge, back.apply(point)), marks.get(name)
            if mark is not None and mark.edge != edge.name:
                raise refuse_derived(
                    where,
                    f"its mark '{name}' lies on '{mark.edge}', expected it on '{edge.name}', as "
                    f"the notch of dart '{one.made.dart.name}'; call the mark otherwise",
                )
            marks[name] = (
                make_mark(name, "notch", edge, place)
                if mark is None
                else put_mark(mark, edge, place, RESTS_MM)
            )
    told = tuple(pleat for pleat in drawn.pleats if pleat not in old)
    return replace(drawn, landmarks=tuple(marks.values()), pleats=(*told, *new))


def notches_off(one: MeantPleat, piece: SizedPiece, laid: Motion) -> tuple[float, float] | None:
    """Tell how far apart the notches of a pleat are, and the farthest that one is off its leg, mm.

    None where one of them is missing.
    """
    marks: dict[str, Landmark] = {
        m.name: m for m in piece.landmarks if m.edge == one.made.pleat.edge
    }
    if any(name not in marks for name in one.made.pleat.marks):
        return None
    drawn = [laid.apply(marks[name].point) for name in one.made.pleat.marks]
    far = max(float(np.hypot(*(at - to))) for at, (_, to) in zip(drawn, one.notches, strict=True))
    return float(np.hypot(*(drawn[1] - drawn[0]))), far


def pleat_said(one: MeantPleat) -> str:
    """Say a pleat in words: the dart that it stands for, which notch is folded on to which."""
    first, second = one.made.pleat.marks
    return (
        f"dart '{one.made.dart.name}' of '{one.made.piece}' as a pleat, '{first}' folded on to "
        f"'{second}'"
    )
