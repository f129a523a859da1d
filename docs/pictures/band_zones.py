# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""Bands: the waistband, zone by zone, below the runs it is sewn to."""

from __future__ import annotations

import math
from pathlib import Path

from demo import result, trousers
from drawing import LEADER, STRESS, Frame, Picture, composed

from propagate.pattern.spans import run_length
from propagate.report.scene.items import Role

__all__ = ["band"]

SCALE = 0.235


def band(folder: Path) -> None:
    """Draw the waistband with its zone marks, and the length of every run."""
    picture = Picture(
        "Bands", "Each zone of the waistband has the length of the run that it is sewn to."
    )
    made = result()
    size = made.record.size
    plan = trousers().relations.bands["waistband_fit"]
    piece = made.pattern.sized(plan.piece, size)
    sewn = piece.edge(plan.sewn).points
    way = sewn[-1] - sewn[0]
    frame = Frame(SCALE, turn=-math.degrees(math.atan2(way[1], way[0])))
    picture.draw(composed(piece, frame, shown=(Role.FACE, Role.SEAM)))
    for i, zone in enumerate(plan.zones):
        begin, end = (
            frame(sewn[0 if name == "start" else -1])
            if name in ("start", "end")
            else frame(piece.landmark(name).point)
            for name in (zone.begin, zone.end)
        )
        middle = (begin + end) / 2
        for at in (begin, end):
            picture.line([at, at + [0.0, 2.5]], Role.NOTCH)
        if not zone.run:
            picture.leader(middle + [6.0, 15.0], middle, "extension: keeps its length")
            continue
        lift = [0.0, -4.0]
        picture.line([begin + lift + [0.4, 0], end + lift - [0.4, 0]], STRESS[i % 2])
        found = run_length(lambda name: made.pattern.sized(name, size), zone.run)
        picture.text(middle + [0.0, -8.0], f"{found:.1f}")
        narrow = abs(end[0] - begin[0]) < 20.0
        row = 20.0 if narrow else 14.0
        if narrow:
            picture.line([middle + [0.0, -10.5], middle + [0.0, -17.5]], LEADER)
        picture.text(middle + [0.0, -row], zone.run[0].key)
    picture.save(folder, "band")
