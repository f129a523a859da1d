"""Why a piece changed: the chain of causes, in plain sentences."""

from __future__ import annotations

from typing import Any

from propagate.engine.record import Change, EdgeChange, PieceChange
from propagate.engine.run import Result
from propagate.errors import UnknownName
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_sentence, in_words, list_words, name_title, piece_title
from propagate.report.blend_text import edit_words, size_taken
from propagate.report.layout import lay_heading, wrap_sentence
from propagate.report.notices import notices_of, say_notice_of
from propagate.report.units import MILLIMETRES, Unit

__all__ = ["why_lines", "why_plain"]


def why_lines(result: Result, target: str, unit: Unit = MILLIMETRES) -> list[str]:
    """Answer "why did this change?" at 80 columns.

    Parameters
    ----------
    target : str
        ``PIECE`` or ``PIECE.EDGE``.

    Raises
    ------
    UnknownName
        With the nearest names.
    """
    piece, edge = _parse_target(result.pattern, target)
    change = _piece_change(result, piece)
    lines = wrap_sentence(_say_headline(result, piece, change, unit), clip=True)
    for name in [edge] if edge else result.pattern.pieces[piece].at(result.record.size).edge_names:
        lines += _edge_lines(result, piece, name, change, unit, asked=edge is not None)
    if change is None or not any(_chain_of_edge(result, piece, e.edge) for e in change.edges):
        chain = result.record.chain(f"{piece}.*")
        lines += ["", *_chain_lines(result, chain)] if chain else []
    warnings = notices_of(result, piece)
    if warnings:
        lines += lay_heading("look at this")
        for notice in warnings:
            text = say_notice_of(result.pattern, piece, notice, typed=True)
            lines += wrap_sentence(f"- {text}", 2, 2, clip=True)
    return lines


def why_plain(result: Result, target: str) -> dict[str, Any]:
    """Return the same as plain values: per edge what became of it and the chain of causes."""
    piece, edge = _parse_target(result.pattern, target)
    change = _piece_change(result, piece)
    names = result.pattern.pieces[piece].at(result.record.size).edge_names
    changes = {item.edge: item for item in change.edges} if change else {}
    return {
        "piece": piece,
        "size": size_taken(result, piece),
        "status": change.status if change else "same",
        "edges": [
            {
                "edge": name,
                "change": changes.get(name),
                "chain": list(_chain_of_edge(result, piece, name)),
            }
            for name in ([edge] if edge else names)
        ],
        "chain": list(result.record.chain(f"{piece}.*")),
        "warnings": [
            notice.text if notice.where == piece else f"{notice.where}: {notice.text}"
            for notice in notices_of(result, piece)
        ],
    }


def _parse_target(pattern: PatternSet, target: str) -> tuple[str, str | None]:
    piece, dot, edge = target.partition(".")
    names = pattern.piece(piece).at(pattern.base).edge_names
    if not dot:
        return piece, None
    if edge not in names:
        raise UnknownName("edge", edge, names, f"piece '{piece}' of set '{pattern.name}'")
    return piece, edge


def _piece_change(result: Result, piece: str) -> PieceChange | None:
    return next((item for item in result.record.pieces if item.piece == piece), None)


def _chain_of_edge(result: Result, piece: str, edge: str) -> tuple[Change, ...]:
    return result.record.chain(f"{piece}.{edge}")


def _say_headline(result: Result, piece: str, change: PieceChange | None, unit: Unit) -> str:
    size, title = size_taken(result, piece), piece_title(result.pattern, piece)
    if change is None:
        return (
            f"{title} did not change: it is size {size} as drawn. "
            "Nothing that it is sewn to made it change."
        )
    if change.status == "same":
        return f"{title} is size {size} as drawn; no edge changed."
    areas = []
    if change.added_mm2 > 1.0:
        areas.append(f"tape on {unit.area(change.added_mm2)}")
    if change.trimmed_mm2 > 1.0:
        areas.append(f"trim {unit.area(change.trimmed_mm2)}")
    said = f" ({', '.join(areas)})" if areas else ""
    how = "moved" if change.status == "moved" else "changed"
    return f"{title} was taken from size {size} and {how}{said}."


def _edge_lines(
    result: Result,
    piece: str,
    name: str,
    change: PieceChange | None,
    unit: Unit,
    *,
    asked: bool,
) -> list[str]:
    edge = next((item for item in change.edges if item.edge == name), None) if change else None
    title = name_title(result.pattern, name, piece)
    chain = _chain_of_edge(result, piece, name)
    if edge is None or (edge.status == "same" and not chain):
        return ["", *wrap_sentence(f"{title} is the same, digit for digit.")] if asked else []
    lines = ["", *wrap_sentence(f"{title}: {_edge_words(edge, unit)}")]
    return lines + _chain_lines(result, chain)


def _edge_words(edge: EdgeChange, unit: Unit) -> str:
    if edge.status == "same":
        return f"the same, {unit.said(edge.after_mm)}"
    if edge.status == "moved":
        return f"moved; length kept, {unit.said(edge.after_mm)}"
    words = (
        f"before {unit.length(edge.before_mm)}, now {unit.said(edge.after_mm)} "
        f"({unit.difference(edge.before_mm, edge.after_mm)})"
    )
    amounts = [
        f"{what} up to {unit.said(mm)}"
        for what, mm in (("tape on", edge.added_mm), ("trim", edge.trimmed_mm))
        if mm > 0.05
    ]
    return f"{words}; {', '.join(amounts)}" if amounts else words


def _chain_lines(result: Result, chain: tuple[Change, ...]) -> list[str]:
    lines: list[str] = []
    for depth, link in enumerate(chain):
        where = _say_node(result.pattern, link.id)
        text = edit_words(result) if link.cause is None else link.what
        what = f"{where}: {text}" if where else text
        lead = "" if depth == 0 else "because of "
        lines += wrap_sentence(
            f"{lead}{in_words(result.pattern, what)}", 2 + 2 * depth, 4, clip=True
        )
    return lines


def _say_node(pattern: PatternSet, node: str) -> str:
    """Say a node of the relation graph in words."""
    if node == "edit":
        return "the edit"
    if node.startswith("level:"):
        return f"level {name_title(pattern, node.removeprefix('level:'))}"
    assembly = pattern.relations.assemblies.get(node.partition("/")[0])
    said = in_words(pattern, node)
    if assembly is None or "/" not in node:
        return said
    taped = list_words([in_sentence(piece_title(pattern, part)) for part in assembly.pieces])
    return f"{said} ({taped} taped together)"
