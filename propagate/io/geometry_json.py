"""A piece in all its sizes as JSON text, and back.

The writer is canonical: the same piece gives the same text.  Each edge, landmark
or mark takes one line; numbers are the shortest decimals that read back to the
same digits (Python's ``repr``); empty optional lists are left out.  An edge that
was authored as path data is written as that path data.
"""

from __future__ import annotations

import json
from collections.abc import Iterable

from propagate.errors import FormatError
from propagate.io.geometry_read import FORMAT, load_piece
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece

__all__ = ["FORMAT", "dump_piece", "load_piece"]


def dump_piece(piece: Piece) -> str:
    """Return the canonical JSON text of a piece, with a newline at its end.

    Raises
    ------
    FormatError
        A number is not finite; JSON has no spelling for it.
    """
    sizes = ",\n".join(
        f"    {_spell(size)}: {_sized_text(piece.name, size, sized)}"
        for size, sized in piece.nest.items()
    )
    return (
        f'{{\n  "format": {FORMAT},\n  "piece": {_spell(piece.name)},\n'
        f'  "sizes": {{\n{sizes}\n  }}\n}}\n'
    )


def _spell(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _sized_text(piece: str, size: str, sized: SizedPiece) -> str:
    lists: dict[str, Iterable[dict[str, object]]] = {
        "edges": map(_edge_object, sized.edges),
        "landmarks": map(_landmark_object, sized.landmarks),
        "darts": (
            {"name": d.name, "edge": d.edge, "legs": list(d.legs), "tip": _pair(d.tip)}
            for d in sized.darts
        ),
        "lines": ({"name": line.name, "points": line.points.tolist()} for line in sized.lines),
        "drills": ({"name": mark.name, "point": _pair(mark.point)} for mark in sized.drills),
    }
    try:
        parts = [_list_text(key, list(objects)) for key, objects in lists.items()]
        parts.append(f'"grain": {_spell([_pair(sized.grain.start), _pair(sized.grain.end)])}')
        if sized.levels:
            levels = {name: _pair(point) for name, point in sized.levels.items()}
            parts.append(f'"levels": {_spell(levels)}')
        if sized.label is not None:
            label = {"point": _pair(sized.label.point), "angle": float(sized.label.angle)}
            parts.append(f'"label": {_spell(label)}')
    except ValueError as error:
        raise FormatError(
            f"piece '{piece}', size '{size}': found a coordinate that is not finite, "
            "expected numbers; it cannot be written"
        ) from error
    return "{\n" + ",\n".join(f"      {part}" for part in parts if part) + "\n    }"


def _list_text(key: str, objects: list[dict[str, object]]) -> str:
    if not objects and key != "edges":
        return ""
    lines = ",\n".join(f"        {_spell(item)}" for item in objects)
    return f'"{key}": [\n{lines}\n      ]'


def _pair(point: tuple[float, float]) -> list[float]:
    return [float(point[0]), float(point[1])]


def _edge_object(edge: Edge) -> dict[str, object]:
    if edge.path is not None:
        return {"name": edge.name, "path": edge.path}
    found: dict[str, object] = {"name": edge.name, "points": edge.points.tolist()}
    if edge.turns:
        found["turns"] = [int(turn) for turn in edge.turns]
    return found


def _landmark_object(mark: Landmark) -> dict[str, object]:
    return {
        "name": mark.name,
        "edge": mark.edge,
        "point": _pair(mark.point),
        "kind": mark.kind,
    }
