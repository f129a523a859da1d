"""A piece in all its sizes as JSON text, and back.

The writer is canonical: the same piece gives the same text.  Each edge, landmark
or mark takes one line; numbers are the shortest decimals that read back to the
same digits (Python's ``repr``); empty optional lists are left out.  An edge that
was authored as path data is written as that path data.
"""

from __future__ import annotations

import json

from propagate.errors import FormatError
from propagate.io.geometry_read import FORMAT, load_piece
from propagate.pattern.model import Piece, SizedPiece

__all__ = ["FORMAT", "dump_piece", "load_piece"]

_LINE = ",\n"


def dump_piece(piece: Piece) -> str:
    """Return the canonical JSON text of a piece, with a newline at its end.

    Raises
    ------
    FormatError
        A number is not finite; JSON has no spelling for it.
    """
    sizes = []
    for size, sized in piece.nest.items():
        try:
            sizes.append(f"    {_spell(size)}: {_size_text(sized)}")
        except ValueError as error:
            raise FormatError(
                f"piece '{piece.name}', size '{size}': found a coordinate that is not finite, "
                "expected numbers; it cannot be written"
            ) from error
    return (
        f'{{\n  "format": {FORMAT},\n  "piece": {_spell(piece.name)},\n'
        f'  "sizes": {{\n{_LINE.join(sizes)}\n  }}\n}}\n'
    )


def _size_text(sized: SizedPiece) -> str:
    edges: list[dict[str, object]] = []
    for edge in sized.edges:
        if edge.path is not None:
            edges.append({"name": edge.name, "path": edge.path})
            continue
        turns = {"turns": [int(turn) for turn in edge.turns]} if edge.turns else {}
        edges.append({"name": edge.name, "points": edge.points.tolist(), **turns})
    lists: dict[str, list[dict[str, object]]] = {
        "edges": edges,
        "landmarks": [
            {"name": mark.name, "edge": mark.edge, "point": _pair(mark.point), "kind": mark.kind}
            for mark in sized.landmarks
        ],
        "darts": [
            {"name": d.name, "edge": d.edge, "legs": list(d.legs), "tip": _pair(d.tip)}
            for d in sized.darts
        ],
        "lines": [{"name": line.name, "points": line.points.tolist()} for line in sized.lines],
        "drills": [{"name": mark.name, "point": _pair(mark.point)} for mark in sized.drills],
    }
    parts = []
    for key, objects in lists.items():
        if objects or key == "edges":
            rows = _LINE.join(f"        {_spell(item)}" for item in objects)
            parts.append(f'"{key}": [\n{rows}\n      ]')
    parts.append(f'"grain": {_spell([_pair(sized.grain.start), _pair(sized.grain.end)])}')
    if sized.levels:
        levels = {name: _pair(point) for name, point in sized.levels.items()}
        parts.append(f'"levels": {_spell(levels)}')
    if sized.label is not None:
        label = {"point": _pair(sized.label.point), "angle": float(sized.label.angle)}
        parts.append(f'"label": {_spell(label)}')
    return "{\n" + _LINE.join(f"      {part}" for part in parts) + "\n    }"


def _spell(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _pair(point: tuple[float, float]) -> list[float]:
    return [float(point[0]), float(point[1])]
