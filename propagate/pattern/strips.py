"""What a set says of strips: which edges are the two long sides of a piece."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["Sides", "sides_of_strip"]

Sides = tuple[tuple[str, ...], tuple[str, ...]]
"""The edges of two long sides, each in the order of the outline."""


def sides_of_strip(edges: Sequence[str], said: Sequence[str]) -> Sides | None:
    """Tell the two sides of a strip apart.

    Two names are a side each; of more, those that follow each other are one side.

    Parameters
    ----------
    edges : sequence of str
        The outline.
    said : sequence of str
        The edges of both sides, in any order.

    Returns
    -------
    Sides or None
        The side of the edge that is said first comes first; None where there are not two.

    Examples
    --------
    >>> sides_of_strip(["neck_back", "neck_front", "front", "top", "back"],
    ...                ["top", "neck_back", "neck_front"])
    (('top',), ('neck_back', 'neck_front'))
    """
    if len(said) < 2 or len(set(said)) < len(said) or not set(said) <= set(edges):
        return None
    if len(said) == 2:
        return (said[0],), (said[1],)
    sides: list[list[str]] = []
    first = next((i for i, edge in enumerate(edges) if edge not in said), 0)
    for before, edge in zip(
        [*edges[first - 1 :], *edges[: first - 1]], [*edges[first:], *edges[:first]], strict=True
    ):
        if edge in said and before in said and sides:
            sides[-1].append(edge)
        elif edge in said:
            sides.append([edge])
    if len(sides) != 2:
        return None
    a, b = (tuple(side) for side in sides)
    return (a, b) if said[0] in a else (b, a)
