"""The DXF that is the geometry of a set, as it travels with the set.

It hangs on the set's information, as the text of ``set.toml`` does, so that a revised set
finds it again even when no piece of it is as it was.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from propagate.io.authored import Authored
from propagate.io.report import ReadingReport
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo
from propagate.values import dataclass

if TYPE_CHECKING:
    from propagate.io.dxf.nest import DxfSource

__all__ = ["Drawing", "DrawnInfo", "drawing_of"]


@dataclass(frozen=True)
class Drawing:
    """The DXF of a set.

    Attributes
    ----------
    source : DxfSource
    data : bytes
        The file itself; of a damaged one `source` holds what could be read.
    rule_file : str
        Name of the rule file beside it, if there is one.
    reading : ReadingReport
    """

    source: DxfSource
    data: bytes
    rule_file: str
    reading: ReadingReport


class DrawnInfo(Authored[PieceInfo]):
    """Piece information with its authored text and the drawing of the set."""

    def __init__(
        self, name: str, values: Mapping[str, PieceInfo], source: bytes, drawing: Drawing
    ) -> None:
        super().__init__(name, values, source)
        self.drawing = drawing


def drawing_of(pattern: PatternSet) -> Drawing | None:
    """Return the DXF that is the geometry of a set; None for any other set."""
    return pattern.info.drawing if isinstance(pattern.info, DrawnInfo) else None
