"""A coat with its lining and a collar in two layers, drafted from the coat without them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.geometry.polyline import between, point_at
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.suggesting.garment_drafts import SIZES, length, line, marked, outline, seam, set_of
from tests.suggesting.tailored_drafts import heath_coat

PLEAT_MM, DEEPER_MM, SHORTER_MM = 20.0, 2.0, 20.0
"""Half the pleat at the centre back of the lining, what the collar has beyond the undercollar to
turn over, and by how much the lining of the sleeve is shorter (common practice, no source)."""


def _points(piece: SizedPiece) -> dict[str, Array]:
    return {edge.name: edge.points for edge in piece.edges}


def _line_front(front: dict[str, Array], facing: dict[str, Array]) -> SizedPiece:
    """What is left of the front beside its facing."""
    inner, hem = facing["inner"], front["hem"]
    steps = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(hem, axis=0).T))])
    low = between(hem, 0.0, float(np.interp(inner[-1][0], hem[:, 0], steps)))
    edges = {"side": front["side"], "hem": np.concatenate([low[:-1], inner[-1:]])}
    edges |= {"edge": inner[::-1], "shoulder": np.array([inner[0], front["shoulder"][-1]])}
    return outline({**edges, "armhole": front["armhole"]})


def _line_back(back: dict[str, Array]) -> SizedPiece:
    """The back with half a pleat at its centre."""
    top = (-PLEAT_MM, float(back["neck"][-1][1]))
    edges = {"hem": np.concatenate([[[-PLEAT_MM, 0.0]], back["hem"]])}
    edges |= {name: back[name] for name in ("side", "armhole", "shoulder")}
    edges["neck"] = np.concatenate([back["neck"], [top]])
    return outline({**edges, "centre": line(top, (-PLEAT_MM, 0.0))})


def _draw_collar(under: dict[str, Array], front_part: float) -> SizedPiece:
    """The undercollar, deeper at its outer edge; a notch where the facing ends on it."""
    up = np.array([0.0, DEEPER_MM])
    sewn, point, centre = under["sewn"], under["point"], under["centre"]
    edges = {"sewn": sewn, "point": np.array([point[0], point[-1] + up])}
    edges |= {"outer": under["outer"] + up, "centre": np.array([centre[0] + up, centre[-1]])}
    at = point_at(sewn, length(sewn) - front_part)
    return marked(outline(edges, (1.0, 0.0)), [("neck", "sewn", (float(at[0]), float(at[1])))])


def _shorten(sleeve: dict[str, Array]) -> SizedPiece:
    """A sleeve, shorter at the wrist."""
    edges = dict(sleeve)
    names = list(edges)
    at = names.index("wrist")
    before, after = names[at - 1], names[(at + 1) % len(names)]
    edges[before] = between(edges[before], 0.0, length(edges[before]) - SHORTER_MM)
    edges[after] = between(edges[after], SHORTER_MM, length(edges[after]))
    low, high = edges[before][-1], edges[after][0]
    edges["wrist"] = line((float(low[0]), float(low[1])), (float(high[0]), float(high[1])))
    return outline(edges)


def lined_coat() -> PatternSet:
    """The coat of heath cloth with a collar, its facing and collar seam, and a lining."""
    coat = heath_coat()
    drawn = []
    for size in SIZES:
        made = {name: piece.at(size) for name, piece in coat.pieces.items()}
        own = {name: _points(piece) for name, piece in made.items()}
        made["collar"] = _draw_collar(own["undercollar"], length(own["facing"]["neck"]))
        made["front_lining"] = _line_front(own["front"], own["facing"])
        made["back_lining"] = _line_back(own["back"])
        for name in ("top_sleeve", "under_sleeve"):
            made[f"{name}_lining"] = _shorten(own[name])
        drawn.append(made)
    more = [
        seam(
            "collar_edge",
            ["undercollar.point", "undercollar.outer"],
            ["collar.point", "collar.outer"],
        ),
        seam("facing_and_collar", ["facing.neck reversed"], ["collar.sewn from neck to end"]),
        replace(
            seam(
                "lining_and_collar",
                ["back_lining.neck reversed"],
                ["collar.sewn from start to neck"],
            ),
            ease=-PLEAT_MM,
        ),
        seam("facing_seam", ["facing.inner"], ["front_lining.edge reversed"]),
        seam("lining_side", ["front_lining.side"], ["back_lining.side reversed"]),
        replace(
            seam(
                "lining_shoulder",
                ["facing.shoulder", "front_lining.shoulder"],
                ["back_lining.shoulder reversed"],
            ),
            ease=8.0,
        ),
        *(
            seam(
                f"lining_{way}",
                [f"top_sleeve_lining.{way}"],
                [f"under_sleeve_lining.{way} reversed"],
            )
            for way in ("hind_seam", "fore_seam")
        ),
        *(
            seam(f"{name}_wrist", [f"{name}.wrist"], [f"{name}_lining.wrist"])
            for name in ("top_sleeve", "under_sleeve")
        ),
    ]
    return set_of("lined coat", drawn, [*coat.relations.seams.values(), *more])
