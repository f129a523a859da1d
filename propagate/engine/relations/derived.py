"""Draw a derived piece anew from its definition where its main piece changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from propagate.engine.derived.dart_pleats import MeantPleat, pleat_said, pleats_on
from propagate.engine.derived.drawing import Drawing, laid_on
from propagate.engine.derived.region import Region, corners_in_darts, region_of
from propagate.engine.derived.walking import farthest_off
from propagate.engine.graph import order_of_work
from propagate.engine.inside.follow import piece_as_followed
from propagate.engine.record import EDIT, ChangeKind
from propagate.engine.state import State
from propagate.pattern.derived import Derived
from propagate.pattern.model import SizedPiece
from propagate.pattern.named_marks import named_landmarks
from propagate.pattern.relation_edges import line_pieces_edges

__all__ = ["apply", "draw_on_lines"]


def apply(state: State, derived: Derived, cause: str) -> bool:
    """Draw the piece by its definition; returns whether an edge or a mark of it changed.

    Raises
    ------
    EditError
        When the region would be empty or in two parts.
    """
    size = _take_size(state, derived)
    was = state.pattern.sized(derived.piece, size)

    def before(piece: str) -> SizedPiece:
        return state.pattern.sized(piece, size)

    old = region_of(state.pattern, derived, before, size)
    new = region_of(state.pattern, derived, _lookup_for(state, derived), size)
    own = state.given.pieces.get(derived.piece, was)
    laid = laid_on(derived, was, old)
    info = state.pattern.info[derived.piece]
    off = farthest_off(was, old, laid)
    anew = off > derived.tolerance
    named = named_landmarks(state.pattern, derived.piece)
    parts = state.pattern.relations.assemblies
    drawn = Drawing(derived, info, was, own, old, new, laid, anew, named, parts).piece()
    now = state.lookup(derived.piece)
    if drawn == now:
        return False
    if anew and derived.piece not in state.pieces:
        state.notice(
            derived.piece,
            f"was drawn up to {off:.2f} mm off what the set says it is, and is as the set says now",
            "look which of the two was meant",
            about=("was off its definition",),
        )
    _tell_open_darts(state, derived, (old, new), was.edge_names)
    state.pieces[derived.piece] = drawn
    for edge, fresh in zip(now.edges, drawn.edges, strict=True):
        if fresh != edge:
            text = f"drawn anew from '{derived.of}'"
            state.change(f"{derived.piece}.{edge.name}", ChangeKind.DERIVED, text, cause)
    pleats = (
        pleats_on(derived, old, parts, was, laid),
        pleats_on(derived, new, parts, drawn, laid),
    )
    _tell_pleats(state, derived, pleats, (now, drawn), cause)
    return True


def _tell_pleats(
    state: State,
    derived: Derived,
    pleats: tuple[tuple[MeantPleat, ...], tuple[MeantPleat, ...]],
    pieces: tuple[SizedPiece, SizedPiece],
    cause: str,
) -> None:
    """Say which pleats in place of darts have their notches elsewhere now, and which went."""
    old, new = ({one.made.pleat: one for one in time} for time in pleats)
    was, now = ({(m.edge, m.name): m.point for m in piece.landmarks} for piece in pieces)
    for pleat, one in {**old, **new}.items():
        keys = [(pleat.edge, mark) for mark in pleat.marks]
        if pleat in new and all(was.get(key) == now.get(key) for key in keys):
            continue
        said = f"{pleat_said(one)}, {one.take:.1f} mm"
        if pleat not in new:
            said = f"{pleat_said(one)}, is gone"
        elif any(key not in was for key in keys):
            said = f"{said}, with a notch at each leg"
        node = f"{derived.piece}.{pleat.edge}"
        state.change_beside(node, f"{one.made.piece}.{one.made.dart.name}", said, cause)


def _tell_open_darts(
    state: State, derived: Derived, regions: tuple[Region, Region], names: Sequence[str]
) -> None:
    """Say that a corner came to lie between the legs of a dart, on the cap that is folded away."""
    before, now = (corners_in_darts(derived, region, names) for region in regions)
    for edge in now:
        if edge not in before:
            state.notice(
                derived.piece,
                f"a corner of it came to lie inside the dart on '{edge}' of '{derived.of}', and it "
                f"runs along the cap of the dart",
                f'say closed = ["{edge}"] in the set, or make it wider or narrower',
                about=("corner in a dart", edge),
            )


def draw_on_lines(state: State) -> None:
    """Draw pieces anew that lie on inner lines, where nothing but such a line was changed."""
    every = state.pattern.relations.derived
    seeds = {
        key
        for derived in every.values()
        for key in line_pieces_edges(state.pattern, derived)
        if _lines_changed(state, key.partition(".")[0])
    }
    if not seeds:
        return
    for kind, name in order_of_work(state.pattern, sorted(seeds)):
        if kind == "derived":
            apply(state, every[name], EDIT)


def _lines_changed(state: State, piece: str) -> bool:
    return piece in state.pieces and state.pieces[piece].lines != state.source(piece).lines


def _lookup_for(state: State, derived: Derived) -> Callable[[str], SizedPiece]:
    """Pieces as they stand; where a line inside them counts, as it follows the outline."""
    with_lines = {key.partition(".")[0] for key in line_pieces_edges(state.pattern, derived)}

    def lookup(piece: str) -> SizedPiece:
        return piece_as_followed(state, piece) if piece in with_lines else state.lookup(piece)

    return lookup


def _take_size(state: State, derived: Derived) -> str:
    """The size of the piece: that of its main piece."""
    assembly = state.pattern.relations.assemblies.get(derived.of)
    size = state.size_of(derived.of if assembly is None else assembly.lead)
    if state.size_of(derived.piece) != size:
        state.taken[derived.piece] = size
    return size
