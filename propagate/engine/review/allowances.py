"""Allowances of the two sides of a seam that differ much."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.engine.review.finding import Finding
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run
from propagate.pattern.spans import span_length

__all__ = ["allowances"]

RATIO = 3.0
"""Graded layers differ by a half or so, a seam that can be let out by twice (common practice)."""
LEAST_MM = 6.0
NARROW_MM = 3.0
"""Cloth frays out of a seam with less; a raw edge has none (common practice, no source)."""
ALONG_MM = 5.0
"""Stretches that lie along each other for less are not looked at."""


def allowances(pattern: PatternSet) -> Iterator[Finding]:
    """Find allowances that are unlike those they are cut, turned up or bound with."""
    yield from _find_mates(pattern)
    yield from _run_on(pattern)
    yield from _along_bands(pattern)
    yield from _find_narrow(pattern)
    yield from _find_turned(pattern)


def _find_mates(pattern: PatternSet) -> Iterator[Finding]:
    """Find seams whose one side has several times the allowance of the other."""
    for seam in pattern.relations.seams.values():
        if seam.mirror:
            continue
        told = set()
        for ours, theirs in _pair_beside(pattern, seam.lead, seam.follow):
            wide, narrow = sorted((ours, theirs), key=lambda side: -_find_allowance(pattern, side))
            widths = _find_allowance(pattern, wide), _find_allowance(pattern, narrow)
            if not _are_unlike(pattern, wide, narrow):
                continue
            if (wide, narrow) in told:
                continue
            told.add((wide, narrow))
            yield Finding(
                "allowances differ",
                f"seam '{seam.name}'",
                f"found an allowance of {widths[0]:g} mm on '{'.'.join(wide)}' and of "
                f"{widths[1]:g} mm on '{'.'.join(narrow)}', which are sewn to each other; "
                f"expected about the same on both, since their cut edges are laid together. "
                f"{_tell_likely(widths)}; correct [pieces.{wide[0]}.allowance] or "
                f"[pieces.{narrow[0]}.allowance]",
                (wide[0], narrow[0]),
            )


Side = tuple[str, str]


def _are_unlike(pattern: PatternSet, wide: Side, narrow: Side) -> bool:
    """Whether two allowances differ much; of a piece without any nothing is said yet."""
    stated = pattern.info[narrow[0]].allowance
    if stated.default == 0.0 and not any(stated.edges.values()):
        return False
    widths = _find_allowance(pattern, wide), _find_allowance(pattern, narrow)
    return widths[0] >= RATIO * widths[1] and widths[0] - widths[1] >= LEAST_MM


def _run_on(pattern: PatternSet) -> Iterator[Finding]:
    """Find edges that run on across a seam, such as hems, and have other allowances."""
    told = set()
    for seam in pattern.relations.seams.values():
        for texts in seam.crossing.values():
            sides = [(piece, edge) for piece, _, edge in (text.partition(".") for text in texts)]
            wide, narrow = sorted(sides, key=lambda side: -_find_allowance(pattern, side))
            widths = _find_allowance(pattern, wide), _find_allowance(pattern, narrow)
            if not _are_unlike(pattern, wide, narrow) or (wide, narrow) in told:
                continue
            told.add((wide, narrow))
            yield Finding(
                "allowances differ",
                f"edges '{'.'.join(wide)}' and '{'.'.join(narrow)}'",
                f"found an allowance of {widths[0]:g} mm on the one and of {widths[1]:g} mm on the "
                f"other; expected about the same, since the one runs on into the other across seam "
                f"'{seam.name}'. {_tell_likely(widths)}; correct [pieces.{wide[0]}.allowance] or "
                f"[pieces.{narrow[0]}.allowance]",
                (wide[0], narrow[0]),
            )


def _along_bands(pattern: PatternSet) -> Iterator[Finding]:
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


def _find_narrow(pattern: PatternSet) -> Iterator[Finding]:
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


def _find_turned(pattern: PatternSet) -> Iterator[Finding]:
    """Find edges that are turned up like a hem and sewn to another piece all the same."""
    for name, info in pattern.info.items():
        for edge in sorted(info.allowance.turned):
            seams = [
                seam.name
                for seam in pattern.relations.seams.values()
                if any(span.key == f"{name}.{edge}" for span in (*seam.lead, *seam.follow))
            ]
            if seams:
                yield Finding(
                    "turned edge is sewn",
                    f"piece '{name}', edge '{edge}'",
                    f"found it among the turned edges, which are folded up like a hem, and in seam "
                    f"'{seams[0]}'; expected an edge that nothing is sewn to. Probably another "
                    f"edge, such as the hem, was meant: correct 'turned' in "
                    f"[pieces.{name}.allowance]",
                    (name,),
                )


def _find_allowance(pattern: PatternSet, side: Side) -> float:
    piece, edge = side
    info = pattern.info[piece]
    return info.allowance.of(edge)


def _tell_likely(widths: tuple[float, float]) -> str:
    wide, narrow = widths
    if narrow == 0.0:
        return "The allowance of one side was probably left out (or belongs to a fold or hem)"
    if abs(wide / narrow - 10.0) < 0.01:
        return "One is ten times the other: probably centimetres and millimetres were mixed"
    if abs(wide / narrow - 25.4) < 0.1:
        return "One is 25.4 times the other: probably inches and millimetres were mixed"
    return "The wider one is probably that of another edge, such as a hem"


def _pair_beside(pattern: PatternSet, lead: Run, follow: Run) -> Iterator[tuple[Side, Side]]:
    """Yield the edges that lie along each other on the two sides of a seam."""
    sides = [_list_stretches(pattern, run) for run in (lead, follow)]
    for first, last, ours in sides[0]:
        for begin, end, theirs in sides[1]:
            if min(last, end) - max(first, begin) > ALONG_MM:
                yield ours, theirs


def _list_stretches(pattern: PatternSet, run: Run) -> list[tuple[float, float, Side]]:
    found, done = [], 0.0
    for span in run:
        size = span_length(pattern.sized(span.piece, pattern.base), span)
        found.append((done, done + size, (span.piece, span.edge)))
        done += size
    return found
