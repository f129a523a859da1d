"""Marks without names, told in every size by where they lie on their edge."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from propagate.pattern.model import Landmark, SizedPiece

__all__ = ["named_by_place"]

_NUMBERED = re.compile(r"(?:notch|mark)_\d+")
SAME_SHARE = 0.15
"""Of its edge by which a mark may lie elsewhere in another size."""


def named_by_place(nest: Mapping[str, SizedPiece], base: str) -> Mapping[str, SizedPiece]:
    """Number the marks of every size as those of the base size in the same place.

    They are numbered along the outline, so one that a size lacks would shift all after it.
    Where every size has as many on each edge, nothing changes.
    """
    rows: dict[str, dict[str, list[tuple[float, Landmark]]]] = {size: {} for size in nest}
    for size, piece in nest.items():
        for mark in piece.landmarks:
            if mark.kind != "dart leg" and _NUMBERED.fullmatch(mark.name):
                share = piece.distance(mark.edge, mark.name) / piece.edge(mark.edge).length
                rows[size].setdefault(mark.edge, []).append((share, mark))
    counts = {size: {edge: len(marks) for edge, marks in row.items()} for size, row in rows.items()}
    if all(count == counts[base] for count in counts.values()):
        return nest
    taken = {mark.name for piece in nest.values() for mark in piece.landmarks}
    number = len(taken)
    found: dict[str, SizedPiece] = {}
    for size, piece in nest.items():
        names: dict[str, str] = {}
        for edge, marks in rows[size].items() if size != base else ():
            pairs = _pair_marks(rows[base].get(edge, []), marks)
            for index, (_, mark) in enumerate(marks):
                if index in pairs:
                    names[mark.name] = pairs[index]
                    continue
                number += 1
                while f"{mark.kind}_{number}" in taken:
                    number += 1
                names[mark.name] = f"{mark.kind}_{number}"
        marks_now = tuple(replace(m, name=names.get(m.name, m.name)) for m in piece.landmarks)
        found[size] = replace(piece, landmarks=marks_now)
    return found


def _pair_marks(
    main: list[tuple[float, Landmark]], own: list[tuple[float, Landmark]]
) -> dict[int, str]:
    """Name of the base size's mark for each of a size, the nearest first."""
    gaps = sorted(
        (round(abs(share - other), 6), index, name.name)
        for index, (share, mark) in enumerate(own)
        for other, name in main
        if name.kind == mark.kind
    )
    found: dict[int, str] = {}
    for gap, index, name in gaps:
        if gap <= SAME_SHARE and index not in found and name not in found.values():
            found[index] = name
    return found
