"""How things are drawn.

Every kind of line has its own dashes, every area its own pattern, so that nothing is told
by colour alone; blue and orange are told apart by people who see few colours.
"""

from __future__ import annotations

from propagate.values import dataclass

__all__ = [
    "ADDED",
    "BLUE",
    "FRAME",
    "INK",
    "NEST",
    "ORANGE",
    "PALE",
    "PAPER",
    "Stroke",
    "TRIMMED",
    "write_patterns",
]

INK = "#1a1a1a"
PALE = "#6b6b6b"
BLUE = "#0b5394"
ORANGE = "#c04f00"
PAPER = "#f8f6f0"


@dataclass(frozen=True)
class Stroke:
    """How a line is drawn: colour, width in mm, dashes in mm."""

    colour: str
    width: float
    dash: tuple[float, ...] = ()

    def words(self) -> str:
        """The SVG attributes."""
        dash = f' stroke-dasharray="{" ".join(f"{d:g}" for d in self.dash)}"' if self.dash else ""
        return f'fill="none" stroke="{self.colour}" stroke-width="{self.width:g}"{dash}'


FRAME = Stroke(INK, 0.35)

ADDED = "url(#tape-on)"
TRIMMED = "url(#trim)"


def write_patterns(pitch: float) -> str:
    """Write the patterns of the areas, with their pitch in mm.

    Paper that is taped on: lines rising to the right.  Paper that is trimmed: dots.
    """
    p = f"{pitch:g}"
    head = f'width="{p}" height="{p}" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"'
    return (
        f'<pattern id="tape-on" {head}>'
        f'<rect width="{p}" height="{p}" fill="{BLUE}" fill-opacity="0.16"/>'
        f'<rect width="{pitch * 0.25:g}" height="{p}" fill="{BLUE}" fill-opacity="0.75"/></pattern>'
        f'<pattern id="trim" {head}>'
        f'<rect width="{p}" height="{p}" fill="{ORANGE}" fill-opacity="0.12"/>'
        f'<circle cx="{pitch / 2:g}" cy="{pitch / 2:g}" r="{pitch * 0.21:g}" fill="{ORANGE}" '
        'fill-opacity="0.85"/></pattern>'
    )


NEST = (
    Stroke("#1a1a1a", 0.35),
    Stroke("#0b5394", 0.35, (8.0, 2.5)),
    Stroke("#c04f00", 0.35, (0.3, 1.3)),
    Stroke("#2e7d5b", 0.35, (7.0, 1.7, 0.3, 1.7)),
    Stroke("#8a4f9e", 0.35, (2.6, 1.8)),
    Stroke("#1a1a1a", 0.35, (5.0, 1.4, 0.3, 1.4, 0.3, 1.4, 0.3, 1.4)),
    Stroke("#0b5394", 0.35, (1.2, 1.2, 1.2, 3.6)),
    Stroke("#c04f00", 0.35, (15.0, 2.2)),
    Stroke("#2e7d5b", 0.35, (0.3, 1.3, 0.3, 3.6)),
    Stroke("#8a4f9e", 0.35, (9.0, 1.6, 2.4, 1.6)),
    Stroke("#6b6b6b", 0.35, (4.5, 4.0)),
    Stroke("#6b6b6b", 0.35, (9.0, 1.6, 2.0, 1.6, 2.0, 1.6)),
)
"""Lines of the sizes of a nest, in order; they start again when there are more.

No two have the same dashes, and neighbours are of different kinds: a line without breaks,
long dashes, dots, dashes with a dot, short dashes, dashes with three dots, pairs.  Ends of
dashes are round, so a dash of 0.3 mm is a dot.
"""
