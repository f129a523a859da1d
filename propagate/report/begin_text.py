"""What a set that was made of drawings has, and what to do with it next, in words."""

from __future__ import annotations

from typing import Any

import numpy as np

from propagate.counts import say_count
from propagate.pattern.patternset import PatternSet, Relations
from propagate.report.layout import lay_entries, lay_heading, wrap_sentence
from propagate.visible import shell_word

__all__ = ["begun_lines", "begun_plain", "next_step_lines"]


def begun_lines(pattern: PatternSet, out: str) -> list[str]:
    """How many pieces and sizes it has, and the edges of each piece."""
    lines = wrap_sentence(
        f"set '{pattern.name}' in {out}: {say_count(len(pattern.pieces), 'piece')}, "
        f"{say_count(len(pattern.sizes), 'size')} ({' '.join(pattern.sizes)}; base {pattern.base})"
    )
    edges = [
        (name, " ".join(piece.at(pattern.base).edge_names))
        for name, piece in pattern.pieces.items()
    ]
    return [*lines, *lay_heading("edges, counter-clockwise"), *lay_entries(edges)]


def next_step_lines(pattern: PatternSet, out: str) -> list[str]:
    """What to look at, and the commands that go on from here."""
    folder = out.rstrip("/")
    outlines = (piece.at(pattern.base).outline for piece in pattern.pieces.values())
    longest = max(float(np.ptp(outline, axis=0).max()) for outline in outlines)
    joined = pattern.relations != Relations()
    asked = f"by answering questions or in {folder}/set.toml"
    if joined:
        then = f"walk the set in all sizes, and say what is not joined yet, {asked}:"
    else:
        then = f"then say how the pieces are sewn together, {asked}:"
    commands = [
        f"  propagate suggest {shell_word(folder)} --ask",
        f"  propagate walk {shell_word(folder)}",
    ]
    return [
        *lay_heading("next"),
        *wrap_sentence(
            f"Look at {folder}/pictures, compare a length with the drawing (the largest piece is "
            f"{longest:.0f} mm long), {then}",
            2,
        ),
        *(commands[::-1] if joined else commands),
    ]


def begun_plain(pattern: PatternSet) -> dict[str, Any]:
    """Its sizes, and the edges and landmarks of each piece, as plain data."""
    return {
        "name": pattern.name,
        "sizes": list(pattern.sizes),
        "base": pattern.base,
        "pieces": [
            {
                "name": name,
                "edges": [
                    {"name": edge.name, "length_mm": edge.length}
                    for edge in piece.at(pattern.base).edges
                ],
                "landmarks": [mark.name for mark in piece.at(pattern.base).landmarks],
                "picture": f"pictures/{name}.svg",
            }
            for name, piece in pattern.pieces.items()
        ],
    }
