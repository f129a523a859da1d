"""The first relations file of a set: what is known, and blocks to fill in as comments."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from itertools import combinations

from propagate.io.geometry_toml import DxfSaid, LevelsThrough
from propagate.io.set_toml import render_set
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Band, Girth, Seam, Span, Zone
from propagate.pattern.toml_text import key_text, lines_of_relation

__all__ = ["NO_LEVEL", "commented_toml"]

NO_LEVEL = (
    "# No level is drawn so far; the sizes are laid on the level of this name once there is one."
)
"""What stands above ``lay_on`` of a set that has no level yet."""

_HEAD = """\
# Relations of the set, to be written by a person: how the pieces are sewn together.
# All lengths are millimetres, or text with a unit ("10mm", "3/8in").  The geometry {where}
# holds the drawn pieces, the pictures folder shows each with its edges numbered."""


def commented_toml(
    pattern: PatternSet,
    *,
    geometry: str = "",
    dxf: DxfSaid | None = None,
    levels: LevelsThrough | None = None,
) -> str:
    """Return the TOML of a set without relations, with examples that name its own edges.

    Each example is a block of comments; with the ``# `` in front taken away it is valid.
    What is said of the geometry is as in `render`.
    """
    lines = [_HEAD.format(where="file" if geometry else "folder")]
    leveled = any(piece.at(pattern.base).levels for piece in pattern.pieces.values())
    for line in render_set(pattern, geometry=geometry, dxf=dxf, levels=levels).rstrip().split("\n"):
        if line.startswith("lay_on ") and not leveled:
            lines.append(NO_LEVEL)
        lines.append(line)
        name = line[8:-1].strip('"') if line.startswith("[pieces.") else ""
        if name in pattern.pieces:
            sized = pattern.sized(name, pattern.base)
            lines.append(f"# edges in size {pattern.base}, counter-clockwise, with lengths in mm:")
            for number, edge in enumerate(sized.edges, start=1):
                marks = ", ".join(mark.name for mark in sized.landmarks_on(edge.name))
                said = f"  ({marks})" if marks else ""
                lines.append(f"#   {number}  {edge.name}  {edge.length:.1f}{said}")
    lines.append("")
    for block in _write_examples(pattern):
        lines += ["", *block]
    return "\n".join(lines) + "\n"


def _comment_block(said: str, shown: str | object, spelled: Collection[str] = ()) -> list[str]:
    """Words with two marks in front, and a block of TOML or a relation with one."""
    lines = [f"## {line}" for line in said.strip().split("\n")]
    block = shown.split("\n") if isinstance(shown, str) else lines_of_relation(shown, spelled)
    return [*lines, *(f"# {line}".rstrip() for line in block)]


def _write_examples(pattern: PatternSet) -> Iterator[list[str]]:
    first = next(iter(pattern.pieces))
    edge = pattern.sized(first, pattern.base).edge_names[0]
    yield [
        "## ------------------------------------------------------------------ examples",
        "## They show the form and name edges of this set; which edges are sewn to each",
        "## other is for you to say.  Take '# ' away from the lines of a block to use it.",
    ]
    rows = ", ".join("1000" for _ in pattern.sizes)
    yield _comment_block(
        "Body measurements, one for each size (put in your own):", f"[chart]\nhip = [{rows}]"
    )
    yield _comment_block(
        f"Allowances of '{first}': put this below its own [pieces.{first}].",
        f"[pieces.{key_text(first)}.allowance]\ndefault = 10\nedges = {{ {key_text(edge)} = 20 }}",
    )
    yield from _show_seams(pattern)
    yield from _show_band(pattern)
    yield _comment_block(
        "A length around the body: runs that are added up, and times two for a mirrored pair.",
        Girth("example_girth", ((Span(first, edge),),)),
    )
    yield [
        "## Pockets ([[opening]], [[stack]]), pieces taped together ([[assembly]]) and the",
        "## blending of sizes ([blend]) need a few landmarks and levels more: see the page",
        "## on the set as files.",
    ]


def _show_seams(pattern: PatternSet) -> Iterator[list[str]]:
    pair = _find_likeliest(pattern)
    if pair is not None:
        lead, follow, apart = pair
        yield _comment_block(
            "A seam: the lead is what changes first, the follower is matched to it.  Both runs\n"
            "are written from the same physical end.  These two edges differ by at most\n"
            f"{apart:.1f} mm in every size.",
            Seam("example_seam", (lead,), (follow,)),
            spelled=("ease",),
        )
    first = next(iter(pattern.pieces))
    edge = pattern.sized(first, pattern.base).edge_names[-1]
    yield _comment_block(
        "An edge that is sewn to its own mirrored twin, such as a centre back:",
        Seam("example_twin", (Span(first, edge),), (), mirror=True),
    )


def _find_likeliest(pattern: PatternSet) -> tuple[Span, Span, float] | None:
    """Two edges of different pieces whose lengths agree best in all sizes."""
    lengths = {
        (name, edge): [piece.at(size).edge(edge).length for size in pattern.sizes]
        for name, piece in pattern.pieces.items()
        for edge in piece.at(pattern.base).edge_names
    }
    best: tuple[Span, Span, float] | None = None
    least = math.inf
    for a, b in combinations(lengths, 2):
        if a[0] == b[0]:
            continue
        apart = max(abs(p - q) for p, q in zip(lengths[a], lengths[b], strict=True))
        # A long edge that agrees says more than a short one.
        score = (apart + 1.0) / math.sqrt(min(*lengths[a], *lengths[b]))
        if score < least:
            least, best = score, (Span(*a), Span(*b, "end", "start"), apart)
    return best


def _show_band(pattern: PatternSet) -> Iterator[list[str]]:
    """A band on a strip with four edges, sewn along its longest."""
    for name, piece in pattern.pieces.items():
        edges = sorted(piece.at(pattern.base).edges, key=lambda edge: -edge.length)
        others = [other for other in pattern.pieces if other != name]
        strip = len(edges) == 4 and edges[1].length > 3 * edges[2].length
        if strip and others:
            run = pattern.sized(others[0], pattern.base).edge_names[0]
            zone = Zone("all", "start", "end", (Span(others[0], run),))
            yield _comment_block(
                "A band: its sewn edge is as long as the runs of its zones, part by part.",
                Band("example_band", name, edges[0].name, edges[1].name, (zone,)),
            )
            return
