"""A welt opening, walked: its length, what is sewn to it, the room that it has, and its bag."""

from __future__ import annotations

from propagate.engine.rows import Check, Verdict
from propagate.engine.walk_checks import Walked, verdict_of
from propagate.engine.welts.room import bag_laid, measure_rooms
from propagate.geometry.polyline import length
from propagate.pattern.relation_edges import anchors_of
from propagate.pattern.spans import span_length
from propagate.pattern.welts import WeltOpening, length_said, line_points, part_span
from propagate.tolerances import ON_LINE_MM, OPENING_ROOM_MM

__all__ = ["walk_welt_opening"]


def walk_welt_opening(on: Walked, opening: WeltOpening) -> list[Check]:
    """Walk an opening: what is said of it, its parts against it, and its room."""
    piece, line = on.piece(opening.on), f"{opening.on}.{opening.line}"
    long = length(line_points(piece, opening))
    said = length_said(opening, on.size)
    checks = [] if said is None else [_make_check(opening, "length", line, said, long)]
    for part in opening.parts:
        span = part_span(part)
        found = span_length(on.piece(part.piece), span)
        what = f"{line} | {span}"
        checks.append(_make_check(opening, part.piece, what, long + 2.0 * part.beyond, found))
    checks.append(_check_room(on, opening))
    for part in (one for one in opening.parts if one.bag):
        laid = bag_laid(piece, opening, part, on.piece(part.piece))
        out, what = laid.sticks_out_mm, f"{part.piece} | {opening.on}"
        bad: Verdict = "does not sew" if laid.mouth_out_mm > ON_LINE_MM else "look"
        verdict = bad if out > ON_LINE_MM else "sews"
        checks.append(_make_check(opening, f"{part.piece} out", what, 0.0, out, verdict))
    return checks


def _make_check(
    opening: WeltOpening,
    part: str,
    what: str,
    meant: float,
    found: float,
    verdict: Verdict | None = None,
) -> Check:
    off, (first, _, second) = found - meant, what.partition(" | ")
    return Check(
        "welt_opening",
        f"{opening.name} {part}",
        what,
        meant,
        found,
        0.0,
        off,
        opening.tolerance,
        verdict or verdict_of(off, opening.tolerance),
        relation=opening.name,
        part=part,
        sides=(first, second),
    )


def _check_room(on: Walked, opening: WeltOpening) -> Check:
    """Check the room to what is nearest: what is more than needed is no difference."""
    piece = on.piece(opening.on)
    found = measure_rooms(piece, opening, anchors_of(on.pattern, opening))
    nearest = min(found, key=lambda name: (found[name], name))
    mm = found[nearest]
    off = min(mm - OPENING_ROOM_MM, 0.0)
    said: Verdict = "does not sew" if mm < 0.0 else "look" if off < 0.0 else "sews"
    sides = (f"{opening.on}.{opening.line}", f"{nearest} of {opening.on}")
    return Check(
        "welt_opening",
        f"{opening.name} room",
        " | ".join(sides),
        OPENING_ROOM_MM,
        mm,
        0.0,
        off,
        OPENING_ROOM_MM,
        said,
        relation=opening.name,
        part="room",
        sides=sides,
    )
