"""Draw a derived piece anew from its definition where its main piece changed."""

from __future__ import annotations

from propagate.engine.compare import changed_edges
from propagate.engine.derived.dart_pleats import MeantPleat, pleat_said, pleats_on
from propagate.engine.derived.drawing import Drawing, laid_on
from propagate.engine.derived.region import corners_in_darts, region_of
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
    assembly = state.pattern.relations.assemblies.get(derived.of)
    size = state.size_of(derived.of if assembly is None else assembly.lead)
    if state.size_of(derived.piece) != size:
        state.taken[derived.piece] = size  # that of its main piece
    was = state.pattern.sized(derived.piece, size)

    with_lines = {key.partition(".")[0] for key in line_pieces_edges(state.pattern, derived)}

    def lookup(piece: str) -> SizedPiece:
        # Where a line inside a piece counts, it follows the outline.
        return piece_as_followed(state, piece) if piece in with_lines else state.lookup(piece)

    old = region_of(state.pattern, derived, state.pattern.in_size(size), size)
    new = region_of(state.pattern, derived, lookup, size)
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
    before, after = (corners_in_darts(derived, one, was.edge_names) for one in (old, new))
    for edge in after:
        if edge not in before:
            state.notice(
                derived.piece,
                f"a corner of it came to lie inside the dart on '{edge}' of '{derived.of}', and it "
                "runs along the cap of the dart",
                "make it wider or narrower, or say in the set that this piece has the dart closed",
                about=("corner in a dart", edge),
                typed=f'closed = ["{edge}"]',
            )
    state.pieces[derived.piece] = drawn
    for edge in changed_edges(now, drawn):
        text = f"drawn anew from '{derived.of}'"
        state.change(f"{derived.piece}.{edge}", ChangeKind.DERIVED, text, cause)
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


def draw_on_lines(state: State) -> None:
    """Draw pieces anew that lie on inner lines, where nothing but such a line was changed."""
    every = state.pattern.relations.derived
    redrawn = {
        name for name, piece in state.pieces.items() if piece.lines != state.source(name).lines
    }
    seeds = {
        key
        for derived in every.values()
        for key in line_pieces_edges(state.pattern, derived)
        if key.partition(".")[0] in redrawn
    }
    if not seeds:
        return
    for kind, name in order_of_work(state.pattern, sorted(seeds)):
        if kind == "derived":
            apply(state, every[name], EDIT)
