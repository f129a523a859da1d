"""The corners that are solved together, against scipy's constrained minimisation.

The model is written here once more, from its description: a side is a curve of length L
whose direction at the share u of its length is ``d + c (u + b u (1 - u))``; the free part
of a crossing edge keeps its length and has its direction changed by ``p v^2 + q v^3``.
What is asked: both meet in the corner, on both mains; the sides are equally long below
the corner; the corner angles add up; and of all that can be, the crossing edges change
their curvature least.  SLSQP (Kraft 1988) is as scipy has it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize

from propagate import Blend, Conflict, blend
from propagate.engine.corners import (
    Across,
    CornerTask,
    Pairing,
    Solved,
    UnsolvedCornersError,
    solve_corners,
)
from propagate.engine.edits.blend import blend_silhouettes, resolve_blend
from propagate.engine.edits.corner_tasks import corner_as_drawn
from propagate.geometry.spiral import Spiral
from tests.engine import measure
from tests.examples import goes_on
from tests.shared import demo

SCALE = np.array([100.0, 1.0, 1.0, 1.0])
ALIKE = 20.0  # how much more like sides count than fair crossing edges, by shape
_BENT = (lambda v: 2 * v, lambda v: 3 * v * v)  # how p and q change the curvature
BENDING = np.array([[quad(lambda v, f=f, g=g: f(v) * g(v), 0, 1)[0] for g in _BENT] for f in _BENT])


def side_end(task: CornerTask, length: float, turn: float) -> np.ndarray:
    """End of the side curve: the chords' mean directions, summed."""
    n = task.side.chords
    u = (np.arange(n) + 0.5) / n
    angle = task.side.direction + turn * (u + task.side.taper * u * (1 - u))
    return task.side.start + length / n * np.array([np.cos(angle).sum(), np.sin(angle).sum()])


def across_end(task: CornerTask, p: float, q: float) -> np.ndarray:
    chords = np.diff(task.across.points, axis=0)
    sizes = np.linalg.norm(chords, axis=1)
    ends = sizes.cumsum()
    v = (ends - sizes / 2) / ends[-1]
    spin = np.exp(1j * (p * v**2 + q * v**3))
    moved = ((chords[:, 0] + 1j * chords[:, 1]) * spin).sum()
    return task.across.points[0] + [moved.real, moved.imag]


def corner(task: CornerTask, turn: float, p: float, q: float) -> float:
    """Angle between side and crossing edge at the corner, radians."""
    drawn = task.sign * (task.side.direction - task.across.end_direction)
    return float(np.angle(np.exp(1j * drawn))) + task.sign * (turn - p - q)


def conditions(tasks: Sequence[CornerTask], pairing: Pairing | None, x: np.ndarray) -> np.ndarray:
    """All zero on a solution; mm, and hundredths of a radian.  Those of the pair come last."""
    parts = x.reshape(-1, 4)
    found = [
        gap
        for task, (length, turn, p, q) in zip(tasks, parts, strict=True)
        for gap in side_end(task, length, turn) - across_end(task, p, q)
    ]
    if pairing is not None:
        lengths = [task.held + part[0] for task, part in zip(tasks, parts, strict=True)]
        found.append(lengths[1] - lengths[0] - pairing.ease)
        if pairing.corner_sum is None:
            found += [100 * parts[0, 2], 100 * parts[0, 3]]
        else:
            total = sum(corner(task, *part[1:]) for task, part in zip(tasks, parts, strict=True))
            found.append(100 * (total - pairing.corner_sum))
    return np.array(found)


def objective(tasks: Sequence[CornerTask], pairing: Pairing | None, x: np.ndarray) -> float:
    """Change of the crossing edges' curvature, and how unlike the sides are."""
    parts = x.reshape(-1, 4)
    total = sum(float(part[2:] @ BENDING @ part[2:]) for part in parts)
    if pairing is not None and pairing.alike:
        unlike = tasks[0].sign * parts[0, 1] - tasks[1].sign * parts[1, 1]
        total += ALIKE * float(unlike) ** 2
    return total


def by_scipy(tasks, pairing, starts: Sequence[np.ndarray]) -> float:
    """Least objective that SLSQP finds among solutions.

    From the first start that leads to one; with the profile ``long`` from all.
    """
    scale = np.tile(SCALE, len(tasks))
    best = np.inf
    for start in starts:
        found = minimize(
            lambda y: objective(tasks, pairing, y * scale),
            start / scale,
            method="SLSQP",
            constraints={"type": "eq", "fun": lambda y: conditions(tasks, pairing, y * scale)},
            options={"maxiter": 150, "ftol": 1e-13},
        )
        if np.abs(conditions(tasks, pairing, found.x * scale)).max() < 1e-5:
            best = min(best, objective(tasks, pairing, found.x * scale))
            if not goes_on():
                break
    return best


def as_vector(solved: Sequence[Solved]) -> np.ndarray:
    return np.array([value for s in solved for value in (s.length, s.turn, s.p, s.q)])


def assert_best(tasks, pairing, *, free: bool = True) -> np.ndarray:
    """The conditions hold, and scipy finds nothing better by more than one in a hundred."""
    x = as_vector(solve_corners(tasks, [pairing]))
    assert np.abs(conditions(tasks, pairing, x)).max() < 1e-6
    rng = np.random.default_rng(5)
    plain = x.copy().reshape(-1, 4)
    plain[:, 1:] = 0.0
    wild = x + np.tile(SCALE, len(tasks)) * rng.normal(0, 0.1, len(x))
    best = by_scipy(tasks, pairing, [plain.ravel(), wild])
    assert np.isfinite(best), "scipy found no solution at all"
    mine = objective(tasks, pairing, x)
    assert mine <= 1.01 * best + 1e-9, (mine, best)
    if free:
        assert mine > 1e-6, "a case in which nothing had to give proves little"
    return x


# --------------------------------------------------------------------------------- demos


def of_demo(name: str, upper: str, lower: str, follow: str, top: str):
    pattern = demo(name)
    plan = pattern.relations.blend
    edit = Blend({plan.upper: upper, plan.lower: lower}, follow=follow, top=top)
    blended = blend_silhouettes(pattern, edit, resolve_blend(pattern, edit))
    total = sum(corner_as_drawn(side.laid) for side in blended.sides)
    pairing = Pairing(
        pattern.relations.seams[plan.seam].ease,
        total if top == "trued" else None,
        alike=follow == "shape",
    )
    return [side.task for side in blended.sides], pairing, blended.sides


DEMOS = [
    ("slant_trouser", "42", "44"),
    ("slant_trouser", "42", "48"),
    ("slant_trouser", "50", "38"),
    ("scoop_skirt", "S", "XL"),
    ("scoop_skirt", "3XL", "S"),
]


@pytest.mark.parametrize("follow", ["shape", "length"])
@pytest.mark.parametrize(("name", "upper", "lower"), DEMOS)
def test_trued_corners_of_the_demos(name, upper, lower, follow):
    tasks, pairing, sides = of_demo(name, upper, lower, follow, "trued")
    x = assert_best(tasks, pairing)
    for side, part in zip(sides, x.reshape(-1, 4), strict=True):
        end = side_end(side.task, *part[:2])
        assert np.linalg.norm(side.points[-1] - end) < 1e-6
        assert measure.polyline_length(side.points) == pytest.approx(part[0], abs=1e-6)


@pytest.mark.parametrize("follow", ["shape", "length"])
@pytest.mark.parametrize(("name", "upper", "lower"), [DEMOS[1], DEMOS[3]])
def test_traced_corners_of_the_demos(name, upper, lower, follow):
    """The lead's crossing edge does not change; the follower's only as the lengths ask."""
    tasks, pairing, _ = of_demo(name, upper, lower, follow, "traced")
    x = assert_best(tasks, pairing, free=False)
    assert np.abs(x[2:4]).max() < 1e-9


# ------------------------------------------------------------------- cases from nothing


def straight_across(x: float, y: float, width: float, tilt: float) -> Across:
    """A straight free part that ends at (x, y)."""
    along = np.array([np.cos(tilt), np.sin(tilt)])
    steps = np.linspace(-width, 0, 41)[:, None]
    return Across(np.array([x, y]) + steps * along, tilt)


def task(
    x: float,
    y: float,
    lean: float = 0.0,
    width: float = 90.0,
    tilt: float = 0.0,
    taper: float = 0.0,
) -> CornerTask:
    """A side from (0, 0), upright but for `lean`, up to a corner near (x, y)."""
    side = Spiral(np.zeros(2), np.pi / 2 + lean, taper, 100)
    return CornerTask(side, 800.0, straight_across(x, y, 90.0, tilt), 1.0)


def _mirrored(one: CornerTask) -> CornerTask:
    points = one.across.points * (-1.0, 1.0)
    side = one.side
    turned = Spiral(side.start * (-1.0, 1.0), np.pi - side.direction, side.taper, side.chords)
    across = Across(points, np.pi - one.across.end_direction)
    return CornerTask(turned, one.held, across, -one.sign)


CASES: dict[str, Callable[[], tuple[list[CornerTask], Pairing]]] = {
    "like sides": lambda: (
        [task(-20, 200), _mirrored(task(-20, 200))],
        Pairing(0.0, np.pi, alike=True),
    ),
    "unlike sides": lambda: (
        [task(-20, 200), _mirrored(task(-30, 203, lean=0.03))],
        Pairing(0.0, np.pi, alike=False),
    ),
    "unlike sides by shape": lambda: (
        [task(-20, 200), _mirrored(task(-30, 203, lean=0.03))],
        Pairing(0.0, np.pi, alike=True),
    ),
    "with ease": lambda: (
        [task(-20, 200, tilt=0.1), _mirrored(task(-20, 201, taper=0.3))],
        Pairing(2.5, np.radians(176), alike=False),
    ),
    "a large turn": lambda: (
        [task(-70, 190, lean=0.1), _mirrored(task(-65, 190, lean=0.1))],
        Pairing(0.0, np.pi, alike=True),
    ),
    "outward": lambda: (
        [task(25, 200), _mirrored(task(20, 201))],
        Pairing(0.0, np.pi, alike=False),
    ),
}


@pytest.mark.parametrize("case", list(CASES))
def test_cases_from_nothing(case):
    assert_best(*CASES[case]())


def test_mirror_images_share_evenly():
    tasks, pairing = CASES["like sides"]()
    first, second = solve_corners(tasks, [pairing])
    assert first.length == pytest.approx(second.length, abs=1e-9)
    assert first.turn == pytest.approx(-second.turn, abs=1e-9)
    assert (first.p, first.q) == pytest.approx((-second.p, -second.q), abs=1e-9)
    assert corner(tasks[0], first.turn, first.p, first.q) == pytest.approx(np.pi / 2, abs=1e-9)


def test_a_main_without_a_mate_is_left_as_drawn():
    """Its corner is reached by the side alone: nothing asks the crossing edge to change."""
    alone = [task(-20, 200)]
    (solved,) = solve_corners(alone, [])
    assert (solved.p, solved.q) == pytest.approx((0.0, 0.0), abs=1e-4)
    x = as_vector([solved])
    assert np.abs(conditions(alone, None, x)).max() < 1e-6
    # An arc: its turn is twice the angle between the first direction and the chord.
    assert solved.turn == pytest.approx(2 * np.arctan2(20, 200), abs=1e-3)


def test_corners_that_nothing_satisfies_are_an_error_with_the_distance():
    """A follower's seam that is asked to be 400 mm longer than any curve could make it."""
    tasks = [task(-20, 200), _mirrored(task(-20, 200))]
    with pytest.raises(UnsolvedCornersError) as caught:
        solve_corners(tasks, [Pairing(-400.0, np.pi, alike=False)])
    assert caught.value.miss_mm > 1e-6


@pytest.mark.parametrize("ease", [-400.0, 500.0])
def test_what_it_would_take_is_told(ease):
    """With the lengths let go, scipy's sides are as far apart as is told to be possible."""
    tasks = [task(-20, 200), _mirrored(task(-30, 203, lean=0.03))]
    pairing = Pairing(ease, np.pi, alike=False)
    with pytest.raises(UnsolvedCornersError) as caught:
        solve_corners(tasks, [pairing])
    (told,) = caught.value.would_take
    assert told.pairing == pairing and told.wider is None
    scale = np.tile(SCALE, 2)
    start = np.array([204.0, 0.1, 0.0, 0.0, 204.0, -0.2, 0.0, 0.0])
    free = minimize(
        lambda y: objective(tasks, pairing, y * scale),
        start / scale,
        method="SLSQP",
        constraints={
            "type": "eq",
            "fun": lambda y: np.delete(conditions(tasks, pairing, y * scale), 4),
        },
        options={"maxiter": 150, "ftol": 1e-13},
    )
    off = conditions(tasks, pairing, free.x * scale)
    assert np.abs(np.delete(off, 4)).max() < 1e-5
    assert told.longer_mm == pytest.approx(off[4], abs=0.01)
    solved = solve_corners(tasks, [replace(pairing, ease=ease + told.longer_mm)])
    assert np.abs(np.delete(conditions(tasks, pairing, as_vector(solved)), 4)).max() < 1e-6


def test_one_back_between_two_fronts_that_differ():
    """Three mains meet at two seams: the back's side is as long as both, and both corners true."""
    back, left, right = task(-20, 200), task(-24, 201, lean=0.02), task(-15, 199, tilt=0.05)
    tasks = [_mirrored(back), left, right]
    pairings = [
        Pairing(0.0, np.pi, alike=True, follow=1),
        Pairing(1.5, np.radians(178), alike=True, follow=2),
    ]
    x = as_vector(solve_corners(tasks, pairings)).reshape(-1, 4)
    for pairing in pairings:
        pair = [tasks[0], tasks[pairing.follow]]
        own = np.concatenate([x[0], x[pairing.follow]])
        assert np.abs(conditions(pair, pairing, own)).max() < 1e-6


@pytest.mark.parametrize("end", ["side", "across"])
def test_second_derivatives_of_the_ends(end):
    """Central differences of the first derivatives."""
    one = task(-70, 190, lean=0.1, tilt=0.1, taper=0.3)
    what, at = (one.side, (210.0, 0.4)) if end == "side" else (one.across, (0.3, -0.2))
    for k, step in enumerate((1e-2, 1e-5) if end == "side" else (1e-5, 1e-5)):
        shift = step * np.eye(2)[k]
        slope = (what.end(*(at + shift))[1] - what.end(*(at - shift))[1]) / (2 * step)
        assert what.end_bend(*at)[:, :, k] == pytest.approx(slope, rel=1e-6, abs=1e-6)


def test_the_blend_names_both_causes_when_the_corners_cannot_be_solved():
    """The seam's ease in the demo is made absurd; the sizes alone are never at fault."""
    pattern = demo("slant_trouser")
    plan = pattern.relations.blend
    seams = dict(pattern.relations.seams)
    seams[plan.seam] = replace(seams[plan.seam], ease=-400.0)
    odd = replace(pattern, relations=replace(pattern.relations, seams=seams))
    with pytest.raises(Conflict) as caught:
        blend(odd, Blend({"waist": "42", "hip": "44"}))
    error = caught.value
    assert error.distance_mm > 0
    assert len(error.causes) == 2
    assert "side_seam" in error.causes[0]
    assert "44" in error.causes[1]
    # Without the ease, the sides of the two mains come out a millimetre apart at most.
    assert error.distance_mm == pytest.approx(400.0, abs=1.0)
    assert f"a follower's side {error.distance_mm:.1f} mm longer" in str(error)
