"""Darts of a main piece that are pleats in a piece derived from it: a notch at each leg."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from propagate.pattern.derived import Derived
from propagate.pattern.model import Dart, Piece, Pleat, SizedPiece
from propagate.pattern.relations import Assembly
from propagate.values import dataclass

__all__ = ["DartPleat", "dart_pleats", "pleats_by_size"]


@dataclass(frozen=True)
class DartPleat:
    """A pleat of a derived piece that takes up what a dart does in its main piece.

    Attributes
    ----------
    piece : str
        The main piece, or the part of an assembly, that has the dart.
    dart : Dart
    pleat : Pleat
        On the derived piece; its notches are called as the dart's legs are.
    """

    piece: str
    dart: Dart
    pleat: Pleat


def dart_pleats(
    derived: Derived,
    assemblies: Mapping[str, Assembly],
    lookup: Callable[[str], SizedPiece | None],
) -> tuple[DartPleat, ...]:
    """The pleats that a derived piece has in place of darts, wherever its corners lie.

    Of two edges of it that lie on the same one the first that is named has the pleat.

    Parameters
    ----------
    derived : Derived
    assemblies : mapping of name to Assembly
    lookup : callable
        Returns a piece by its name; None where there is none.
    """
    found: list[DartPleat] = []
    for on in derived.pleated_edges:
        own = next((one.edge for one in derived.edges if one.on == on), "")
        assembly = assemblies.get(derived.of)
        parts = [(derived.of, on)]
        if assembly is not None:
            parts = [(span.piece, span.edge) for span in assembly.edges.get(on, ())]
        for name, edge in dict.fromkeys(parts) if own else ():
            piece = lookup(name)
            darts = piece.darts if piece is not None else ()
            found += [
                DartPleat(name, dart, Pleat(own, dart.legs)) for dart in darts if dart.edge == edge
            ]
    return tuple(found)


def pleats_by_size(
    pieces: Mapping[str, Piece], derived: Mapping[str, Derived], assemblies: Mapping[str, Assembly]
) -> dict[str, dict[str, tuple[Pleat, ...]]]:
    """The pleats in place of darts of each piece that has any, by piece and size."""
    found: dict[str, dict[str, tuple[Pleat, ...]]] = {}
    for one in derived.values():
        for size in pieces[one.piece].nest if one.pleated and one.piece in pieces else ():

            def lookup(name: str, size: str = size) -> SizedPiece | None:
                return pieces[name].nest.get(size) if name in pieces else None

            pleats = tuple(made.pleat for made in dart_pleats(one, assemblies, lookup))
            found.setdefault(one.piece, {})[size] = pleats
    return found
