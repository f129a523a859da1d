"""What is said of darts that were found, and of what was not taken for one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from propagate.pattern.dart_corners import Corners
from propagate.pattern.dart_marks import MarkedDart
from propagate.pattern.dart_outlines import DrawnDart

__all__ = ["corners_words", "doubts", "drawn_words", "marked_words"]

MOST_TOLD = 5


def corners_words(one: Corners, name: str) -> str:
    """For two notches and a drill mark at which three edges meet."""
    return (
        f"notches '{one.legs[0]}' and '{one.legs[1]}' and a drill mark are taken for a dart, "
        f"'{name}', and the three edges there for one"
    )


def marked_words(one: MarkedDart, name: str = "") -> str:
    """For two notches and a drill mark on one edge; without a name, why they are no dart."""
    legs = f"notches '{one.legs[0]}' and '{one.legs[1]}', {one.mouth:.1f} mm apart,"
    if not name:
        return f"drill mark '{one.drill}' by {legs} is not taken for a dart: {one.against}"
    return (
        f"{legs} and drill mark '{one.drill}' are taken for a dart, '{name}', with legs of "
        f"{one.lengths[0]:.1f} and {one.lengths[1]:.1f} mm; its mouth does not count in the "
        "length of the edge"
    )


def drawn_words(taken: Mapping[str, DrawnDart], base: str, name: str) -> str:
    """For a dart that the outline runs around."""
    one = taken[base]
    apart = max(abs(drawn.legs[0] - drawn.legs[1]) for drawn in taken.values())
    return (
        f"a dart that the outline runs around is taken for '{name}': its legs of "
        f"{one.legs[0]:.1f} and {one.legs[1]:.1f} mm (in every size equal within {apart:.2f} mm) "
        f"lie inside now, and the edge runs over its mouth of {one.mouth:.1f} mm; a piece that is "
        "drawn anew has notches and a drill mark there"
    )


def doubts(
    drawn: Mapping[str, list[DrawnDart]], everywhere: list[dict[str, DrawnDart]], base: str
) -> Iterator[str]:
    """Why what the outline runs around is no dart."""
    known = [id(one[base]) for one in everywhere]
    for one in drawn[base][:MOST_TOLD]:
        same = everywhere[known.index(id(one))] if id(one) in known else {}
        sizes = [f"{other.against} in size {size}" for size, other in same.items() if other.against]
        why = sizes[0] if sizes else "it is not drawn so in every size"
        x, y = one.place
        yield (
            f"the outline runs {one.legs[0]:.1f} mm in to ({x:.1f}, {y:.1f}) mm and "
            f"{one.legs[1]:.1f} mm back, over a mouth of {one.mouth:.1f} mm; that is not taken for "
            f"a dart: {why}"
        )
