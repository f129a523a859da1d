"""Draw a piece as one SVG at true scale: a result with its before and after, a size, a nest."""

from __future__ import annotations

from propagate.engine.run import Result
from propagate.errors import UnknownName
from propagate.pattern.patternset import PatternSet
from propagate.report.nest_picture import nest_picture
from propagate.report.piece_picture import piece_picture
from propagate.report.units import unit_of

__all__ = ["draw", "picture_size"]


def draw(
    source: PatternSet | Result, piece: str, size: str | None = None, *, unit: str = "mm"
) -> str:
    """Draw one piece as SVG text, width and height in mm, at true scale.

    Parameters
    ----------
    source : PatternSet or Result
        A result is drawn with its outline before, what is taped on and what is trimmed.
    piece : str
    size : str or None
        Size to draw; None draws the nest of a set with several sizes.
    unit : "mm" or "in"
        Unit of the lengths that are written; the drawing itself is true in either.

    Raises
    ------
    UnknownName
        For a piece or size that the set does not have.
    """
    result = source if isinstance(source, Result) else None
    pattern = source.pattern if isinstance(source, Result) else source
    pattern.piece(piece)
    if size is not None and size not in pattern.sizes:
        raise UnknownName("size", size, pattern.sizes, f"set '{pattern.name}'")
    if size is None and len(pattern.sizes) > 1:
        return nest_picture(pattern, piece, unit_of(unit))
    return piece_picture(pattern, piece, size or pattern.base, unit_of(unit), result)


def picture_size(svg: str) -> tuple[float, float]:
    """Width and height of a picture that `draw` made, mm."""
    head = svg[: svg.index(">")]
    found = [head.split(f' {name}="', 1)[1].split('mm"', 1)[0] for name in ("width", "height")]
    return float(found[0]), float(found[1])
