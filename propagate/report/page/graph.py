"""Lay out the garment as a graph: pieces in columns, what joins them between the columns.

The first column holds the pieces that were edited or that lead; every further one holds
what is sewn to the one before, and is reached later by a change.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from propagate.pattern.titles import piece_title
from propagate.report.page.drawn import write_number
from propagate.report.page.joins import Join
from propagate.report.page.subject import STATUS_WORDS, State, Subject
from propagate.report.page.words import PAGE_TEXTS, clean_text
from propagate.values import dataclass

__all__ = ["graph_of"]

_WIDE, _TALL, _GAP = 132.0, 36.0, 11.0
_JOIN_WIDE, _JOIN_TALL = 126.0, 32.0
_BETWEEN = 34.0
_MARGIN = 6.0
_LETTER = 13.5
_BESIDE = 28.0
"""What the badge and the borders of a box take of its width."""
_ROUNDS = 6


@dataclass(frozen=True)
class Node:
    """A box of the graph: a piece, or what joins pieces."""

    id: str
    sort: str
    kind: str
    title: str
    state: State
    x: float
    y: float
    wide: float
    tall: float

    @property
    def lines(self) -> list[str]:
        """Its name in one or two lines, parted at a space or underscore."""
        text, room = clean_text(self.title), self.wide - _BESIDE
        if PAGE_TEXTS.width(text, _LETTER) <= room:
            return [text]
        most = len(text)
        while most > 1 and PAGE_TEXTS.width(text[:most], _LETTER) > room:
            most -= 1
        parted = [i for i, c in enumerate(text[: most + 1]) if c in " _-"]
        parted = [i for i in parted if 0 < i < most + (text[i] == " ")]
        at = parted[-1] + 1 if parted else most
        return [text[:at].rstrip(), PAGE_TEXTS.fitted(text[at:], _LETTER, room, bold=True)]

    @property
    def middle(self) -> tuple[float, float]:
        """Middle of the box."""
        return self.x + self.wide / 2, self.y + self.tall / 2

    def draw_link(self, piece: Node) -> str:
        """A line from a side of this box, which joins pieces, to a side of a piece's."""
        left = piece.x < self.x
        ax = self.x if left else self.x + self.wide
        bx = piece.x + piece.wide if left else piece.x
        ay, by = self.middle[1], piece.middle[1]
        pull = max(abs(bx - ax) * 0.5, 20.0) * (-1 if left else 1)
        numbers = [write_number(v, 1) for v in (ax, ay, ax + pull, ay, bx - pull, by, bx, by)]
        return "M{} {}C{} {} {} {} {} {}".format(*numbers)


@dataclass(frozen=True)
class Graph:
    """Boxes, the lines between them as (join, piece, state, path data), and the extent."""

    nodes: Sequence[Node]
    links: Sequence[tuple[str, str, State, str]]
    wide: float
    tall: float


def graph_of(subject: Subject, joins: Sequence[Join]) -> Graph:
    """Lay out the graph of a set; the same set gives the same layout."""
    groups: dict[str, list[Join]] = {}
    for join in joins:
        groups.setdefault(join.group, []).append(join)
    ends = {
        key: tuple(dict.fromkeys(p for join in group for p in (*join.lead, *join.follow)))
        for key, group in groups.items()
    }
    ranks = _rank_pieces(subject, groups, ends)
    places = _place_boxes(_order_columns(ranks, ends))
    nodes = []
    for name, id_ in subject.ids.items():
        told = id_, "piece", "piece", piece_title(subject.pattern, name), subject.state(name)
        nodes.append(Node(*told, *places[name], _WIDE, _TALL))
    for key, (first, *more) in groups.items():
        state = min((join.state for join in (first, *more)), key=list(STATUS_WORDS).index)
        told = (
            key,
            "join",
            {"taped": "taped together"}.get(first.kind, first.kind),
            first.label,
            state,
        )
        nodes.append(Node(*told, *places[key], _JOIN_WIDE, _JOIN_TALL))
    boxes = {node.id: node for node in nodes}
    links = []
    for key, pieces in ends.items():
        for piece in pieces:
            box = boxes[subject.ids[piece]]
            links.append((key, box.id, boxes[key].state, boxes[key].draw_link(box)))
    wide = max(node.x + node.wide for node in nodes) + _MARGIN
    tall = max(node.y + node.tall for node in nodes) + _MARGIN
    return Graph(sorted(nodes, key=lambda n: (n.x, n.y)), links, wide, tall)


def _rank_pieces(
    subject: Subject, groups: Mapping[str, Sequence[Join]], ends: Mapping[str, Sequence[str]]
) -> dict[str, int]:
    """Rank every piece by its joins from the pieces that lead; the unjoined come last."""
    held = subject.pattern.relations
    mains = () if held.blend is None else held.blend.mains
    roots = [held.lead_of(main.silhouette) for main in mains]
    ranks = dict.fromkeys((name for name in roots if name in subject.ids), 0)
    leads = [p for group in groups.values() for join in group for p in join.lead]
    follows = {p for group in groups.values() for join in group for p in join.follow}
    for start in [*ranks, *(p for p in leads if p not in follows), *leads]:
        ranks.setdefault(start, 0)
        todo = [start, *(name for name, rank in ranks.items() if rank == 0 and name != start)]
        for name in todo:
            for other in (p for pieces in ends.values() if name in pieces for p in pieces):
                if other not in ranks:
                    ranks[other] = ranks[name] + 1
                    todo.append(other)
    last = max(ranks.values(), default=0)
    return ranks | {name: last for name in subject.pattern.pieces if name not in ranks}


def _order_columns(ranks: Mapping[str, int], ends: Mapping[str, Sequence[str]]) -> list[list[str]]:
    """Put pieces in even columns, a join after the first column that it reaches.

    What is joined comes to about the same height, so that few lines cross.
    """
    columns: list[list[str]] = [[] for _ in range(2 * max(ranks.values(), default=0) + 2)]
    for name, rank in ranks.items():
        columns[2 * rank].append(name)
    for key, pieces in ends.items():
        columns[2 * min(ranks[p] for p in pieces) + 1].append(key)
    if not columns[-1]:
        columns.pop()
    near: dict[str, list[str]] = {}
    for key, pieces in ends.items():
        near[key] = list(pieces)
        for piece in pieces:
            near.setdefault(piece, []).append(key)
    heights = {n: (i + 0.5) / len(col) for col in columns for i, n in enumerate(col)}
    for round_ in range(_ROUNDS):
        for column in columns if round_ % 2 == 0 else reversed(columns):
            wanted = {
                n: sum(heights[m] for m in near[n]) / len(near[n]) if near.get(n) else 2.0
                for n in column
            }
            column.sort(key=lambda n: wanted[n])
            heights.update({n: (i + 0.5) / len(column) for i, n in enumerate(column)})
    return columns


def _place_boxes(columns: Sequence[Sequence[str]]) -> dict[str, tuple[float, float]]:
    """Place the upper left corner of every box; columns stand on one middle line."""
    steps = [(_TALL if i % 2 == 0 else _JOIN_TALL) + _GAP for i in range(len(columns))]
    tall = max(len(col) * step for col, step in zip(columns, steps, strict=True))
    places, x = {}, _MARGIN
    for i, (column, step) in enumerate(zip(columns, steps, strict=True)):
        spread = min(tall / len(column), step * 2.2) if column else 0.0
        top = _MARGIN + (tall - spread * len(column)) / 2
        for row, name in enumerate(column):
            places[name] = x, top + spread * (row + 0.5) - (step - _GAP) / 2
        x += (_WIDE if i % 2 == 0 else _JOIN_WIDE) + _BETWEEN
    return places
