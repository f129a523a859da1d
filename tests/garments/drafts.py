"""Small garments of structures that no demo set has, drafted with closed-form curves.

Every piece is drafted in a frame of its own from a few measures a size; `measures` may be
replaced by others, so that a garment can be drafted anew to judge an edit by.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from propagate.io.set_toml import parse_set
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import find_problems

Array = npt.NDArray[np.float64]
_CHORDS = 48


def line(*points: tuple[float, float]) -> Array:
    return np.array(points, dtype=float)


def curve(of: Callable[[Array], Array], begin: float = 0.0, end: float = 1.0) -> Array:
    return of(np.linspace(begin, end, _CHORDS + 1))


def arc(centre: tuple[float, float], radius: float, begin: float, end: float) -> Array:
    """Part of a circle between two angles in radians."""
    turn = np.linspace(begin, end, _CHORDS + 1)
    return np.column_stack([centre[0] + radius * np.cos(turn), centre[1] + radius * np.sin(turn)])


def mirrored(points: Array) -> Array:
    return points[::-1] * (-1.0, 1.0)


def chord_length(points: Array) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


@dataclass(frozen=True)
class Draft:
    """A piece in one size: its edges counter-clockwise, notches as (edge, share), levels."""

    edges: Mapping[str, Array]
    notches: Mapping[str, tuple[str, float]] = field(default_factory=dict)
    levels: Mapping[str, float] = field(default_factory=dict)
    grain_x: float = 0.0


def sized(draft: Draft) -> SizedPiece:
    edges = {name: Edge(name, frozen_points(points)) for name, points in draft.edges.items()}
    ys = np.concatenate([edge.points[:, 1] for edge in edges.values()])
    low, high = float(ys.min()), float(ys.max())
    marks = []
    for name, (edge, share) in dict(draft.notches).items():
        points = edges[edge].points
        at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        x, y = (float(np.interp(share * at[-1], at, points[:, k])) for k in (0, 1))
        marks.append(Landmark(name, edge, (x, y), "notch"))
    span = high - low
    return SizedPiece(
        edges=tuple(edges.values()),
        landmarks=tuple(marks),
        grain=Grain(
            (draft.grain_x, low + 0.3 * span),
            (draft.grain_x, low + 0.7 * span),
        ),
        levels={name: (draft.grain_x, y) for name, y in dict(draft.levels).items()},
    )


def garment(toml: str, draw: Callable[[str], Mapping[str, Draft]]) -> PatternSet:
    """A set of the relations in `toml` and the pieces that `draw` drafts for each size."""
    head = parse_set(toml, "set.toml")
    drawn = {size: draw(size) for size in head.sizes}
    pattern = PatternSet(
        name=head.name,
        sizes=head.sizes,
        base=head.base,
        lay_on=head.lay_on,
        pieces={
            name: Piece(name, {size: sized(drawn[size][name]) for size in head.sizes})
            for name in head.info
        },
        info=head.info,
        relations=head.relations,
    )
    found = find_problems(pattern)
    assert found == (), found
    return pattern


HEAD = """\
format = 1
name = "{name}"
sizes = ["S", "M", "L"]
base = "M"
lay_on = "{level}"
"""


def head(name: str, pieces: Sequence[str], level: str = "hip") -> str:
    tables = (f"[pieces.{piece}]\nallowance = {{ default = 10 }}\n" for piece in pieces)
    return HEAD.format(name=name, level=level) + "\n".join(tables)


# ------------------------------------------------------------------------- gored skirts


@dataclass(frozen=True)
class Gore:
    """Half widths of a gore at its three corners' heights, mm, and its length."""

    waist: float
    hem: float
    length: float = 600.0
    waist_lean: float = 0.12
    hem_lean: float = 0.2

    def side(self) -> Array:
        """The right side from the hem up, square to both arcs: a cubic Bezier."""
        low, high = (self.hem, -self.length), (self.waist, 0.0)
        return bezier(low, self.hem_lean, high, self.waist_lean)

    def draft(self) -> Draft:
        a, b = self.waist_lean, self.hem_lean
        up, down = self.waist / math.sin(a), self.hem / math.sin(b)
        top = (0.0, up * math.cos(a))
        low = (0.0, down * math.cos(b) - self.length)
        quarter = -math.pi / 2
        return Draft(
            {
                "hem": arc(low, down, quarter - b, quarter + b),
                "right": self.side(),
                "waist": arc(top, up, quarter + a, quarter - a),
                "left": mirrored(self.side()),
            },
            {"right_notch": ("right", 0.7), "left_notch": ("left", 0.3)},
            {"waist": 0.0, "hip": -200.0, "knee": -450.0},
        )


def bezier(
    low: tuple[float, float], low_lean: float, high: tuple[float, float], high_lean: float
) -> Array:
    """From a low to a high point, leaning inward (to smaller x) by angles in radians at both."""
    handle = (high[1] - low[1]) / 3
    control = np.array(
        [
            low,
            (low[0] - handle * math.sin(low_lean), low[1] + handle * math.cos(low_lean)),
            (high[0] + handle * math.sin(high_lean), high[1] - handle * math.cos(high_lean)),
            high,
        ]
    )

    def of(t: Array) -> Array:
        t = t[:, None]
        s = 1.0 - t
        weights = (s**3, 3 * s**2 * t, 3 * s * t**2, t**3)
        return np.asarray(sum(w * c for w, c in zip(weights, control, strict=True)))

    return curve(of)


GORES = tuple(f"gore_{i}" for i in range(1, 7))
STEP = {"S": -1.0, "M": 0.0, "L": 1.0}


def gore_of(size: str, wider: float = 0.0) -> Gore:
    step = STEP[size]
    return Gore(58.0 + 4 * step + wider, 150.0 + 4 * step + wider, 600.0 + 10 * step)


def ring_toml(options: str = "both_ways = true\n", names: Sequence[str] = GORES) -> str:
    """Gores, each sewn to two neighbours, all seams written from the hem."""
    seams = []
    for i, name in enumerate(names):
        other = names[(i + 1) % len(names)]
        seams.append(
            f"""
[[seam]]
name = "seam_{i + 1}"
lead = "{name}.right"
follow = "{other}.left reversed"
notches = [["{name}.right_notch", "{other}.left_notch"]]
crossing = {{ start = ["{name}.hem", "{other}.hem"], end = ["{name}.waist", "{other}.waist"] }}
{options}"""
        )
    runs = ", ".join(f'"{name}.waist"' for name in names)
    girth = f'\n[[girth]]\nname = "waist"\nruns = [{runs}]\ntimes = 1\n'
    return head(f"{len(names)} gores", names) + "".join(seams) + girth


def ring_of_gores(options: str = "both_ways = true\n", names: Sequence[str] = GORES) -> PatternSet:
    """Gores of three widths; the sides are one curve, so that all are as long."""
    return garment(
        ring_toml(options, names),
        lambda size: {n: gore_of(size, 6.0 * (i % 3)).draft() for i, n in enumerate(names)},
    )


ONE_GORE = """
[[seam]]
name = "seams"
lead = "gore.right"
follow = "gore.left reversed"
notches = [["gore.right_notch", "gore.left_notch"]]
crossing = { start = ["gore.hem", "gore.hem"], end = ["gore.waist", "gore.waist"] }
%s
[[girth]]
name = "waist"
runs = ["gore.waist"]
times = 6
"""


def one_gore(options: str = "both_ways = true\n") -> PatternSet:
    """One gore that is cut six times: its right side is sewn to its own left side."""
    toml = head("gore six times", ["gore"]).replace("allowance", "cut = 6\nallowance")
    return garment(toml + ONE_GORE % options, lambda size: {"gore": gore_of(size).draft()})
