"""Allowances unlike those they are cut with, that nobody sews, or that are turned and sewn."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from propagate.engine.review.finding import Finding
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo, Run
from propagate.pattern.spans import span_length
from propagate.tolerances import WIDEST_ALLOWANCE_MM, WIDEST_HEM_MM

__all__ = [
    *("find_narrow_allowances", "find_sewn_turned_edges", "find_unlike_across"),
    *("find_unlike_along_bands", "find_unlike_mates", "find_unlikely_allowances"),
]

RATIO = 3.0
"""Graded layers differ by a half or so, a seam that can be let out by twice (common practice)."""
LEAST_MM = 6.0
NARROW_MM = 3.0
"""Cloth frays out of a seam with less; a raw edge has none (common practice, no source)."""
ALONG_MM = 5.0
"""Stretches that lie along each other for less are not looked at."""
Side = tuple[str, str]
"""Piece and edge."""


def find_unlike_mates(pattern: PatternSet) -> Iterator[Finding]:
    """Find seams whose one side has several times the allowance of the other."""
    for seam in pattern.relations.seams.values():
        told = set()
        stretches = (_list_stretches(pattern, run) for run in (seam.lead, seam.follow))
        for (first, last, ours), (begin, end, theirs) in product(*stretches):
            if min(last, end) - max(first, begin) <= ALONG_MM:
                continue
            wide, narrow, widths, unlike = _compare_sides(pattern, ours, theirs)
            if not unlike or (wide, narrow) in told:
                continue
            if any(pattern.info[piece].fold == edge for piece, edge in (ours, theirs)):
                continue  # on the fold nothing is turned in
            told.add((wide, narrow))
            yield Finding(
                "allowances differ",
                f"seam '{seam.name}'",
                f"found an allowance of {widths[0]:g} mm on '{'.'.join(wide)}' and of "
                f"{widths[1]:g} mm on '{'.'.join(narrow)}', which are sewn to each other; "
                f"expected about the same on both, since their cut edges are laid together. "
                f"{_tell_likely(*widths)}; correct [pieces.{wide[0]}.allowance] or "
                f"[pieces.{narrow[0]}.allowance]",
                (wide[0], narrow[0]),
            )


def find_unlike_across(pattern: PatternSet) -> Iterator[Finding]:
    """Find edges that run on across a seam, such as hems, and have other allowances."""
    told = set()
    for seam in pattern.relations.seams.values():
        for texts in seam.crossing.values():
            ours, theirs = ((piece, edge) for piece, _, edge in (t.partition(".") for t in texts))
            wide, narrow, widths, unlike = _compare_sides(pattern, ours, theirs)
            if not unlike or (wide, narrow) in told:
                continue
            told.add((wide, narrow))
            yield Finding(
                "allowances differ",
                f"edges '{'.'.join(wide)}' and '{'.'.join(narrow)}'",
                f"found an allowance of {widths[0]:g} mm on the one and of {widths[1]:g} mm on the "
                f"other; expected about the same, since the one runs on into the other across seam "
                f"'{seam.name}'. {_tell_likely(*widths)}; correct [pieces.{wide[0]}.allowance] or "
                f"[pieces.{narrow[0]}.allowance]",
                (wide[0], narrow[0]),
            )


def find_unlike_along_bands(pattern: PatternSet) -> Iterator[Finding]:
    """Find a band along which one run is bound (no allowance) and another is turned in."""
    for band in pattern.relations.bands.values():
        sides = dict.fromkeys((s.piece, s.edge) for zone in band.zones for s in zone.run)
        bare = [side for side in sides if _find_allowance(pattern, side) == 0.0]
        wide = [side for side in sides if _find_allowance(pattern, side) >= LEAST_MM]
        if not bare or not wide:
            continue
        odd, others = (bare, wide) if len(bare) < len(wide) else (wide, bare)
        yield Finding(
            "allowances differ",
            f"band '{band.name}'",
            f"found an allowance of {_find_allowance(pattern, wide[0]):g} mm on "
            f"'{'.'.join(wide[0])}' and none on '{'.'.join(bare[0])}', which the same band is sewn "
            "to; expected the same all along it: none where the edge is bound, else what is "
            f"turned in. Probably the allowance of '{'.'.join(odd[0])}' is a slip; give it that "
            f"of '{'.'.join(others[0])}'",
            (wide[0][0], bare[0][0]),
        )


def find_narrow_allowances(pattern: PatternSet) -> Iterator[Finding]:
    """Find allowances so narrow that cloth frays out of them."""
    for name, info in pattern.info.items():
        stated = {"default": info.allowance.default, **info.allowance.edges}
        for edge, width in stated.items():
            if 0.0 < width < NARROW_MM:
                yield Finding(
                    "allowance too narrow",
                    f"piece '{name}', allowance of {'every edge' if edge == 'default' else edge}",
                    f"found {width:g} mm, expected 0 (a raw or bound edge) or at least "
                    f"{NARROW_MM:g} mm, since cloth frays. Probably it is in centimetres: "
                    f"{width:g} cm are {10 * width:g} mm; correct [pieces.{name}.allowance]",
                    (name,),
                )


def find_sewn_turned_edges(pattern: PatternSet) -> Iterator[Finding]:
    """Find edges that are turned up like a hem and sewn to another piece all the same."""
    sewn = _map_seams(pattern)
    for name, info in pattern.info.items():
        for edge in sorted(info.allowance.turned):
            if f"{name}.{edge}" in sewn:
                yield Finding(
                    "turned edge is sewn",
                    f"piece '{name}', edge '{edge}'",
                    f"found it among the turned edges, which are folded up like a hem, and in seam "
                    f"'{sewn[f'{name}.{edge}'][0]}'; expected an edge that nothing is sewn to. "
                    "Probably another edge, such as the hem, was meant: correct 'turned' in "
                    f"[pieces.{name}.allowance]",
                    (name,),
                )


def find_unlikely_allowances(pattern: PatternSet) -> Iterator[Finding]:
    """Find allowances of nothing on a seam, and wider ones than anyone sews.

    Where the other side of the seam has another allowance the two are told together, by
    the rules of allowances that differ.
    """
    sewn = _map_seams(pattern)
    for piece, info in pattern.info.items():
        for edge in pattern.pieces[piece].at(pattern.base).edge_names:
            found = info.allowance.of(edge)
            place = f"piece '{piece}', edge '{edge}', allowance"
            seams = sewn.get(f"{piece}.{edge}", [])
            if seams and not (_is_bare(info) or _are_alike(pattern, piece, edge)):
                continue
            named = "seam " + " and ".join(f"'{name}'" for name in seams)
            if found == 0.0 and seams and info.fold != edge:
                yield Finding(
                    "no allowance",
                    place,
                    "found 0 mm on an edge that is sewn, expected room to sew, usually 6 to 15 mm; "
                    "most likely it was left out of the set. Give the edge its allowance, or the "
                    "piece a default",
                    (piece,),
                )
            hem = not seams or edge in info.allowance.turned
            most = WIDEST_HEM_MM if hem else WIDEST_ALLOWANCE_MM
            if found > most:
                what = f"an edge of {named}" if seams else "a hem"
                yield Finding(
                    "allowance too wide",
                    place,
                    f"found {found:g} mm on {what}, expected at most {most:g}; most likely a "
                    "decimal point is missing (10 for 100), or it was meant for a hem. Look at "
                    "the number",
                    (piece,),
                )


def _compare_sides(
    pattern: PatternSet, ours: Side, theirs: Side
) -> tuple[Side, Side, tuple[float, float], bool]:
    """The wider and the narrower side, their allowances in mm, and whether they differ much.

    Of a piece without any allowance nothing is said yet.
    """
    wide, narrow = sorted((ours, theirs), key=lambda side: -_find_allowance(pattern, side))
    widths = _find_allowance(pattern, wide), _find_allowance(pattern, narrow)
    unlike = widths[0] >= RATIO * widths[1] and widths[0] - widths[1] >= LEAST_MM
    return wide, narrow, widths, unlike and not _is_bare(pattern.info[narrow[0]])


def _find_allowance(pattern: PatternSet, side: Side) -> float:
    return pattern.info[side[0]].allowance.of(side[1])


def _is_bare(info: PieceInfo) -> bool:
    return not (info.allowance.default or any(info.allowance.edges.values()))


def _are_alike(pattern: PatternSet, piece: str, edge: str) -> bool:
    """Whether what an edge is sewn to has about its allowance."""
    found = pattern.info[piece].allowance.of(edge)
    for seam in pattern.relations.seams.values():
        for ours, theirs in ((seam.lead, seam.follow), (seam.follow, seam.lead)):
            if any((span.piece, span.edge) == (piece, edge) for span in ours):
                widths = [_find_allowance(pattern, (span.piece, span.edge)) for span in theirs]
                if any(not found / RATIO <= width <= found * RATIO for width in widths):
                    return False
    return True


def _map_seams(pattern: PatternSet) -> dict[str, list[str]]:
    """``PIECE.EDGE`` to the seams that it is sewn in; an edge in a band may be bound."""
    found: dict[str, list[str]] = {}
    for seam in pattern.relations.seams.values():
        for key in dict.fromkeys(span.key for span in (*seam.lead, *seam.follow)):
            found.setdefault(key, []).append(seam.name)
    return found


def _tell_likely(wide: float, narrow: float) -> str:
    if narrow == 0.0:
        return "The allowance of one side was probably left out (or belongs to a fold or hem)"
    if abs(wide / narrow - 10.0) < 0.01:
        return "One is ten times the other: probably centimetres and millimetres were mixed"
    if abs(wide / narrow - 25.4) < 0.1:
        return "One is 25.4 times the other: probably inches and millimetres were mixed"
    return "The wider one is probably that of another edge, such as a hem"


def _list_stretches(pattern: PatternSet, run: Run) -> list[tuple[float, float, Side]]:
    found, done = [], 0.0
    for span in run:
        size = span_length(pattern.sized(span.piece, pattern.base), span)
        found.append((done, done + size, (span.piece, span.edge)))
        done += size
    return found
