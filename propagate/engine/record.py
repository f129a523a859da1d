"""The change record: what an edit changed, by how much, and why.

Every change names its cause, another change or the edit itself, so that "why did the
under bag change?" is answered by a chain back to the edit.  All values are plain and
rounded on output; lengths in mm, angles in degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

__all__ = ["EDIT", "Change", "EdgeChange", "Notice", "PieceChange", "Record", "Status", "as_plain"]

EDIT = "edit"
"""Id of the edit in the chain of causes."""

Array = npt.NDArray[np.float64]
Status = Literal["same", "moved", "reshaped"]


@dataclass(frozen=True)
class Change:
    """One link in the chain of causes.

    Attributes
    ----------
    id : str
        Node of the relation graph (``full_front/side``, ``under_bag.waist``) or a
        relation (``opening front_pocket``).
    what : str
        One plain sentence.
    cause : str or None
        Id of the change that led to this one; None for the edit.
    """

    id: str
    what: str
    cause: str | None


@dataclass(frozen=True)
class EdgeChange:
    """What became of one edge, compared with the size it was taken from."""

    edge: str
    status: Status
    before_mm: float
    after_mm: float
    added_mm: float = 0.0
    trimmed_mm: float = 0.0


@dataclass(frozen=True)
class PieceChange:
    """What became of one piece.

    Attributes
    ----------
    piece : str
    size : str
        Size it was taken from (the lower level's size for a main).
    status : "same", "moved" or "reshaped"
    why : str
        Id of the change that touched it.
    edges : tuple of EdgeChange
    added_mm2, trimmed_mm2 : float
        Area of paper to tape on and to cut away.
    before : mapping of edge name to (n, 2) array, mm
        The old outline, in the frame of the new piece.
    """

    piece: str
    size: str
    status: Status
    why: str
    edges: tuple[EdgeChange, ...] = ()
    added_mm2: float = 0.0
    trimmed_mm2: float = 0.0
    before: Mapping[str, Array] = field(default_factory=dict)


@dataclass(frozen=True)
class Notice:
    """Something the user should look at; `where` is a piece, seam or edge."""

    where: str
    text: str


@dataclass(frozen=True)
class Record:
    """All that is known of one propagation.

    Attributes
    ----------
    edit : mapping
        The edit with every option as it was resolved.
    set_name, size : str
        The set and the name of the resulting size.
    changes : tuple of Change
    pieces : tuple of PieceChange
        Pieces that were reached, in the order of work.
    seams, openings, stacks, bands, girths, corners, fairness : tuples of mappings
        Measurements; see docs/record.md.
    match : mapping
        How far the mains' side seams were apart before they were matched.
    warnings : tuple of Notice
    """

    edit: Mapping[str, Any]
    set_name: str
    size: str
    changes: tuple[Change, ...] = ()
    pieces: tuple[PieceChange, ...] = ()
    seams: tuple[Mapping[str, Any], ...] = ()
    openings: tuple[Mapping[str, Any], ...] = ()
    stacks: tuple[Mapping[str, Any], ...] = ()
    bands: tuple[Mapping[str, Any], ...] = ()
    girths: tuple[Mapping[str, Any], ...] = ()
    corners: tuple[Mapping[str, Any], ...] = ()
    fairness: tuple[Mapping[str, Any], ...] = ()
    match: Mapping[str, Any] = field(default_factory=dict)
    warnings: tuple[Notice, ...] = ()

    def chain(self, change_id: str) -> tuple[Change, ...]:
        """Return the chain of causes from a change back to the edit.

        An empty tuple when nothing with that id changed.
        """
        index = {change.id: change for change in self.changes}
        found: list[Change] = []
        at: str | None = change_id
        while at is not None and at in index:
            found.append(index[at])
            at = index[at].cause
        return tuple(found)


def as_plain(value: Any) -> Any:
    """Turn a record into plain JSON values; floats keep six decimals.

    Arrays (outlines as they were) keep every digit.
    """
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, float):
        return round(value, 6) + 0.0
    if isinstance(value, Mapping):
        return {key: as_plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [as_plain(item) for item in value]
    if hasattr(value, "__dataclass_fields__"):
        return {name: as_plain(getattr(value, name)) for name in value.__dataclass_fields__}
    return value.item() if hasattr(value, "item") else value
