"""The change record: what an edit changed, by how much, and why.

Every change names its cause, another change or the edit itself, so that "why did the
under bag change?" is answered by a chain back to the edit.  All values are plain and
rounded on output; lengths in mm, angles in degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, fields, is_dataclass
from enum import Enum, StrEnum
from functools import cached_property
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.rows import (
    BandRow,
    Check,
    EditOptions,
    FairnessRow,
    GirthRow,
    LayerRow,
    Match,
    OpeningRow,
    TopCorners,
    TruedCorner,
    is_left_out,
    is_written,
    unwritten,
)
from propagate.values import dataclass

__all__ = [
    "EDIT",
    "Change",
    "ChangeKind",
    "EdgeChange",
    "Notice",
    "PieceChange",
    "Record",
    "Status",
    "as_plain",
]

EDIT = "edit"
"""Id of the edit in the chain of causes."""

_THEN = "; "
"""Between what was found and what to do."""

Array = npt.NDArray[np.float64]
Status = Literal["same", "moved", "reshaped"]


class ChangeKind(StrEnum):
    """What happened to an edge, a piece or a level."""

    EDIT = "edit"
    """The edit itself: the root of every chain of causes."""
    DRAWN = "drawn"
    """An edge that the edit itself drew anew."""
    MARKED = "marked"
    """An edge on which the edit itself moved a landmark."""
    LEVEL_SIZE = "level size"
    """A level that was given a size of its own."""
    RETAPED = "retaped"
    """An outline that was taped together anew from what the edit gave."""
    CUT_APART = "cut apart"
    """An edge of a piece that was cut out of a new silhouette."""
    OPENING_LAID = "opening laid"
    """An opening that was swung into its new place."""
    RESEATED = "re-seated"
    """A layer that was put behind its opening again."""
    MATCHED = "matched"
    """A follower that was given the length of its lead."""
    SHAPED = "shaped"
    """A follower that took the shape of its lead as well."""
    TRACED = "traced"
    """A follower that is cut like its lead and was traced from it."""
    BAND_ZONE = "band zone"
    """A band of which a zone took the length of its run."""
    FOLLOWS_ZONES = "follows zones"
    """Another edge of a band, that moved with its zones."""
    DERIVED = "derived"
    """An edge of a derived piece that was drawn anew from its main piece."""
    ALIKE = "alike"
    """An edge of a copy that was drawn as the piece that it is cut like."""
    TAKEN_IN_SIZE = "taken in size"
    """A piece that is taken in another size as a whole."""
    FOLLOWS_CORNER = "follows corner"
    """An edge that changed only because its neighbour's end was moved."""
    NOTCH_FOLLOWS = "notch follows"
    """An edge on which a notch follows its partner across the seam."""
    PLACE_FOLLOWS = "place follows"
    """The place of what is set on, that kept its distances from edges that moved."""
    TRUED = "trued"
    """Corners that were trued after an edit had left a peak or a dip there."""
    UNTOLD = "untold"
    """Of a record that was written before kinds were, or by a later version."""


@dataclass(frozen=True)
class Change:
    """One link in the chain of causes.

    Attributes
    ----------
    id : str
        Node of the relation graph (``full_front/side``, ``under_bag.waist``) or a
        relation (``opening front_pocket``).
    kind : ChangeKind
    what : str
        One plain sentence.
    cause : str or None
        Id of the change that led to this one; None for the edit.
    """

    id: str
    kind: ChangeKind
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
    also : tuple of str
        Other sizes that gave it a stretch of its outline, in the order of the nest.
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
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Notice:
    """Something the user should look at: what was found, and what to do about it.

    Attributes
    ----------
    where : str
        A piece, seam or edge.
    found : str
    do : str
        An instruction.  Written after what was found, behind a semicolon, of which it has none.
    about : tuple of str
        What it says but for the figures of a size, as a word and names: those of several
        sizes that are about the same are told once.  Empty: the text has no such figures.
    typed : str
        How it is done in the set or on the command line: a key or an option.  Told where somebody
        types, never on paper.
    """

    where: str
    found: str
    do: str
    about: tuple[str, ...] = unwritten(())
    typed: str = ""

    def __post_init__(self) -> None:
        """Nobody is told that something is so without what to do."""
        if not self.found.strip() or not self.do.strip() or _THEN in self.do:
            raise ValueError(f"'{self.where}': found '{self.found}', to do '{self.do}'")

    @property
    def text(self) -> str:
        """Both in one sentence, as it is written and printed."""
        return f"{self.found}{_THEN}{self.do}"

    @classmethod
    def read(cls, where: str, text: str, typed: str = "") -> Notice:
        """One that was written; what earlier versions wrote may have nothing to do in it."""
        found, _, do = text.rpartition(_THEN)
        if found.strip() and do.strip():
            return cls(where, found, do, typed=typed)
        return cls(where, text.strip() or "nothing is said of it", "look at it")


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
    seams : tuple of Check
        Seams, their notch pairs, and openings that no longer meet their layers.
    openings : tuple of OpeningRow
    stacks : tuple of LayerRow
    bands : tuple of BandRow
    girths : tuple of GirthRow
    corners : tuple of Check, TopCorners and TruedCorner
    fairness : tuple of FairnessRow
    match : Match or None
        How far the mains' side seams were apart before they were matched.
    warnings : tuple of Notice
    """

    edit: Mapping[str, Any]
    set_name: str
    size: str
    changes: tuple[Change, ...] = ()
    pieces: tuple[PieceChange, ...] = ()
    seams: tuple[Check, ...] = ()
    openings: tuple[OpeningRow, ...] = ()
    stacks: tuple[LayerRow, ...] = ()
    bands: tuple[BandRow, ...] = ()
    girths: tuple[GirthRow, ...] = ()
    corners: tuple[Check | TopCorners | TruedCorner, ...] = ()
    fairness: tuple[FairnessRow, ...] = ()
    match: Match | None = None
    warnings: tuple[Notice, ...] = ()

    @cached_property
    def options(self) -> EditOptions:
        """The edit, with the options that reports ask for."""
        known = {
            item.name: self.edit[item.name]
            for item in fields(EditOptions)
            if item.name in self.edit
        }
        return EditOptions(**{**known, "pieces": tuple(known.get("pieces", ()))})

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every length that was walked: those of the seams, then those of the bands."""
        return (*self.seams, *self.bands)

    @property
    def walked_corners(self) -> tuple[Check, ...]:
        """Corners across seams."""
        return tuple(row for row in self.corners if isinstance(row, Check))

    @property
    def top_corners(self) -> tuple[TopCorners, ...]:
        """Corners at the top against the size that gives it."""
        return tuple(row for row in self.corners if isinstance(row, TopCorners))

    @property
    def trued_corners(self) -> tuple[TruedCorner, ...]:
        """Corners that were trued."""
        return tuple(row for row in self.corners if isinstance(row, TruedCorner))

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

    Arrays (outlines as they were) keep every digit.  A record without a match has an empty one.
    """
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, float):
        return round(value, 6) + 0.0
    if isinstance(value, Mapping):
        return {key: as_plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [as_plain(item) for item in value]
    if isinstance(value, Notice):
        typed = {"typed": value.typed} if value.typed else {}
        return {"where": value.where, "text": value.text, **typed}
    if isinstance(value, Record):
        return {**_fields_as_plain(value), "match": as_plain(value.match or {})}
    if is_dataclass(value):
        return _fields_as_plain(value)
    if isinstance(value, Enum):
        return value.value
    return value.item() if hasattr(value, "item") else value


def _fields_as_plain(value: Any) -> dict[str, Any]:
    return {
        item.name: as_plain(getattr(value, item.name))
        for item in fields(value)
        if is_written(item.metadata) and not is_left_out(item.metadata, getattr(value, item.name))
    }
