"""How long the run of a band's zone is, and by how much it is to be longer than the zone."""

from __future__ import annotations

from collections.abc import Callable

from propagate.pattern.beside import length_beside
from propagate.pattern.ease import as_of_zone, meant_ease
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Zone

__all__ = ["zone_ease", "zone_run_length"]


def zone_run_length(lookup: Callable[[str], SizedPiece], zone: Zone) -> float:
    """Length that a zone takes of its run: of the seam line or of a line beside it, mm."""
    return length_beside(lookup, zone.run, zone)


def zone_ease(zone: Zone, size: str, run_mm: float, zone_mm: float) -> float:
    """By how much the run of a zone is to be longer than the zone, mm; see `meant_ease`."""
    return meant_ease(as_of_zone(zone.ease), size, run_mm, run_mm - zone_mm)
