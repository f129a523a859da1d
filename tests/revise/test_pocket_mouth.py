"""A pocket's mouth that a revision moves or lengthens, judged with shapely on the old outline."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from shapely.ops import substring

import propagate
from propagate.engine.revise import revise
from propagate.engine.revised import Revised
from propagate.errors import Conflict, EditError
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.shared import demo_in_few, once_for_each

Array = npt.NDArray[np.float64]
DEMOS = ("slant_trouser", "scoop_skirt")


@pytest.fixture(scope="module", params=DEMOS)
def garment(request: pytest.FixtureRequest) -> PatternSet:
    return demo_in_few(request.param)


def names(pattern: PatternSet) -> tuple[str, list[str]]:
    """The main piece of the pocket and its layers, the facing first."""
    opening = next(iter(pattern.relations.openings.values()))
    stack = next(iter(pattern.relations.stacks.values()))
    return opening.piece, [layer.piece for layer in stack.layers]


def laid(
    piece: SizedPiece, pairs: Iterable[tuple[str, str]], main: SizedPiece
) -> tuple[Array, ...]:
    """Turn (2, 2) and shift that lay a piece on its main piece, by the first pair of marks."""
    (a, p), (b, q) = list(pairs)[:2]
    own = np.subtract(piece.landmark(b).point, piece.landmark(a).point)
    there = np.subtract(main.landmark(q).point, main.landmark(p).point)
    z = complex(*there) / complex(*own)
    z /= abs(z)
    turn = np.array([[z.real, -z.imag], [z.imag, z.real]])
    return turn, np.array(main.landmark(p).point) - turn @ np.array(piece.landmark(a).point)


@once_for_each
def whole(pattern: PatternSet, size: str) -> shapely.Polygon:
    """Front and facing laid together, as one area."""
    main, (facing, *_) = names(pattern)
    layer = next(iter(pattern.relations.stacks.values())).layers[0]
    front, part = pattern.sized(main, size), pattern.sized(facing, size)
    turn, shift = laid(part, layer.put, front)
    return shapely.union(
        shapely.Polygon(front.outline).buffer(1e-3),
        shapely.Polygon(part.outline @ turn.T + shift).buffer(1e-3),
    )


def moved(pattern: PatternSet, along: float, length: float | None = None) -> SizedPiece:
    """The front in the base size with its mouth farther along the waist, or longer, by hand."""
    size = pattern.base
    opening = next(iter(pattern.relations.openings.values()))
    front = pattern.sized(opening.piece, size)
    ring = shapely.Polygon(whole(pattern, size).exterior).exterior
    mouth = front.edge(opening.edge)
    forward = opening.across_end == "start"
    line = mouth.points if forward else mouth.points[::-1]
    # The outline from the far end of the waist past the side corner to the end of the side.
    names_ = front.edge_names
    i = names_.index(opening.edge)
    before, after = front.edge(names_[i - 1]), front.edge(names_[(i + 1) % len(names_)])
    first, last = before.points[0], after.points[-1]
    path = _path(ring, first, last)
    top = line[0]
    start = path.project(shapely.Point(top)) + (-along if not forward else along)
    pin = np.array(path.interpolate(start).coords[0])
    scale = 1.0 if length is None else length / mouth.length
    reach = scale * float(np.hypot(*(line[-1] - top)))
    circle = shapely.Point(pin).buffer(reach, 4000).exterior
    hits = shapely.get_coordinates(circle.intersection(path))
    low = min(hits, key=lambda q: float(np.hypot(*(q - line[-1]))))
    z = (line - top) @ np.array([1.0, 1j])
    z = z * complex(*(low - pin)) / z[-1]
    drawn = np.column_stack([z.real, z.imag]) + pin
    drawn[0], drawn[-1] = pin, low
    drawn = drawn if forward else drawn[::-1]
    cut = [path.project(shapely.Point(drawn[k])) for k in (0, -1)]
    head = np.array(substring(path, 0.0, cut[0]).coords)
    tail = np.array(substring(path, cut[1], path.length).coords)
    head[0], head[-1], tail[0], tail[-1] = first, drawn[0], drawn[-1], last
    fresh = {before.name: _plain(head), opening.edge: drawn, after.name: _plain(tail)}
    edges = tuple(Edge(e.name, fresh[e.name]) if e.name in fresh else e for e in front.edges)
    new = replace(front, edges=edges)
    return replace(new, landmarks=tuple(_on(front, new, mark) for mark in new.landmarks))


def _plain(line: Array) -> Array:
    """The line without the doubled points of an area that was widened by a hair."""
    steps = np.hypot(*np.diff(line[:-1], axis=0).T)
    return np.vstack([line[:1], line[1:-1][steps > 2e-3], line[-1:]])


def _path(ring: shapely.LinearRing, first: Array, last: Array) -> shapely.LineString:
    """The outline from one point to another, counter-clockwise."""
    points = np.array(shapely.LinearRing(ring.coords).coords)[:-1]
    if not shapely.is_ccw(ring):
        points = points[::-1]
    line = shapely.LineString(np.vstack([points, points, points[:1]]))
    once = shapely.LinearRing(points).length
    a = shapely.LinearRing(points).project(shapely.Point(first))
    b = shapely.LinearRing(points).project(shapely.Point(last))
    return substring(line, a, b if b > a else b + once)


def _on(old: SizedPiece, new: SizedPiece, mark: Landmark) -> Landmark:
    edge = new.edge(mark.edge)
    for k in (0, -1):
        if np.hypot(*(old.edge(mark.edge).points[k] - mark.point)) < 1e-6:
            return replace(mark, point=tuple(edge.points[k]))
    line = shapely.LineString(edge.points)
    at = line.interpolate(line.project(shapely.Point(mark.point)))
    return replace(mark, point=(at.x, at.y))


@once_for_each
def differences(pattern: PatternSet, size: str) -> Mapping[str, float]:
    """By how much each seam is off."""
    checks = propagate.walk(pattern, size, cut_lines=False).checks
    return {check.name: check.difference for check in checks if check.kind == "seam"}


def judged(pattern: PatternSet, found: Revised) -> None:
    """The silhouette is what it was and everything sews, in every size."""
    for size in pattern.sizes:
        was, now = whole(pattern, size), whole(found.pattern, size)
        assert shapely.hausdorff_distance(was.exterior, now.exterior) <= 0.06
        walked = propagate.walk(found.pattern, size, cut_lines=False)
        assert walked.sews
        old = differences(pattern, size)
        for check in walked.checks:
            if check.kind == "seam" and abs(check.difference) > 0.05:
                assert check.difference == pytest.approx(old[check.name], abs=0.01)


def layers_meet(found: Revised, length: float | None = None, within: float = 0.01) -> None:
    """The two ends of the opening are as far apart on every layer as on the front."""
    main, _ = names(found.pattern)
    opening = next(iter(found.pattern.relations.openings.values()))
    for size in found.pattern.sizes:
        front = found.pattern.sized(main, size)
        chord = np.subtract(*front.edge(opening.edge).points[[0, -1]])
        for layer in next(iter(found.pattern.relations.stacks.values())).layers:
            piece = found.pattern.sized(layer.piece, size)
            a, b = (piece.landmark(own).point for own, _ in layer.put)
            assert np.hypot(*np.subtract(a, b)) == pytest.approx(np.hypot(*chord), abs=within)
        if length is not None:
            assert front.edge(opening.edge).length == pytest.approx(length, abs=1.0)


@pytest.mark.parametrize("along", [10.0, -8.0])
def test_a_mouth_moved_along_the_outline_leaves_the_outline(
    garment: PatternSet, along: float
) -> None:
    main, _ = names(garment)
    front = moved(garment, along)
    found = revise(garment, {main: Piece(main, {garment.base: front})})
    assert found.changed
    judged(garment, found)
    layers_meet(found)
    opening = next(iter(garment.relations.openings.values()))
    for size in garment.sizes:  # it was moved, and is as long as it was
        was, now = (s.sized(main, size).edge(opening.edge) for s in (garment, found.pattern))
        assert now.length == pytest.approx(was.length, abs=0.01)
    said = [n.text for n in found.records[garment.base].warnings if n.where == opening.name]
    assert any("was cut anew from the outline as it was" in text for text in said)


@pytest.mark.parametrize("longer", [3.0, 15.0])
def test_a_mouth_lengthened_on_purpose_is_followed(garment: PatternSet, longer: float) -> None:
    """Front alone; then with its facing, with all layers, in the base size and in every size."""
    main, layers = names(garment)
    opening = next(iter(garment.relations.openings.values()))
    length = garment.sized(main, garment.base).edge(opening.edge).length + longer
    front = moved(garment, 0.0, length)
    alone = revise(garment, {main: Piece(main, {garment.base: front})})
    judged(garment, alone)
    layers_meet(alone, length)
    said = [n.text for n in alone.records[garment.base].warnings if n.where == opening.name]
    assert any("changes the opening from" in text for text in said)
    for sent in ([main, layers[0]], [main, *layers]):
        base = {n: Piece(n, {garment.base: alone.pattern.sized(n, garment.base)}) for n in sent}
        every = {n: alone.pattern.pieces[n] for n in sent}
        for pieces in (base, every):
            found = revise(garment, pieces)
            judged(garment, found)
            layers_meet(found, length, within=0.05)  # as exactly as a drawing is taken
    again = revise(alone.pattern, {n: alone.pattern.pieces[n] for n in (main, *layers)})
    assert not again.changed


def shoved(piece: SizedPiece, edge: str, by: float) -> SizedPiece:
    """The middle of an edge off by `by` mm, square to its chord, nothing at its ends."""
    old = piece.edge(edge)
    points = np.array(shapely.segmentize(shapely.LineString(old.points), 2.0).coords)
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    chord = points[-1] - points[0]
    out = np.array([chord[1], -chord[0]]) / np.hypot(*chord)
    points = points + np.outer(by * np.sin(np.pi * arc / arc[-1]) ** 2, out)
    points[[0, -1]] = old.points[[0, -1]]
    edges = tuple(Edge(edge, points) if e is old else e for e in piece.edges)
    new = replace(piece, edges=edges)
    return replace(new, landmarks=tuple(_on(piece, new, mark) for mark in new.landmarks))


def test_a_bag_a_little_off_the_front_beside_it_gives_way_and_much_is_a_conflict() -> None:
    trousers = demo_in_few("slant_trouser")
    front = moved(trousers, 10.0)
    followed = revise(trousers, {"front": Piece("front", {"42": front})}).pattern
    bag = followed.sized("under_bag", "42")
    sent = {"front": Piece("front", {"42": front})}
    found = revise(
        trousers, sent | {"under_bag": Piece("under_bag", {"42": shoved(bag, "side", 0.8)})}
    )
    assert any("gave way" in n.text for n in found.records["42"].warnings)
    new = found.pattern.sized("under_bag", "42")
    turn, shift = laid(new, [("mouth_top", "mouth_top"), ("mouth_low", "mouth_low")], bag)
    made = shapely.points(new.edge("side").points @ turn.T + shift)
    wanted = shapely.LineString(bag.edge("side").points)
    assert shapely.distance(made[1:-1], wanted).max() <= 0.06  # and not 0.8
    assert all(propagate.walk(found.pattern, size, cut_lines=False).sews for size in trousers.sizes)
    with pytest.raises(Conflict, match="misses 'side'"):
        revise(trousers, sent | {"under_bag": Piece("under_bag", {"42": shoved(bag, "side", 6.0)})})


def test_a_bag_that_was_off_before_is_no_reason_to_refuse() -> None:
    """4 mm off in the set, which its tolerance does not allow, and revised elsewhere."""
    trousers = demo_in_few("slant_trouser")
    nest = {s: shoved(p, "side", 4.0) for s, p in trousers.pieces["under_bag"].nest.items()}
    off = replace(trousers, pieces={**trousers.pieces, "under_bag": Piece("under_bag", nest)})
    bag = shoved(shoved(off.sized("under_bag", "42"), "waist", 0.02), "side", 0.1)
    front = shoved(off.sized("front", "42"), "inseam", 3.0)
    sent = {"front": front, "under_bag": bag}
    every = {n: Piece(n, {"42": piece}) for n, piece in sent.items()}
    assert revise(off, every).changed


@pytest.mark.parametrize("drawn_there", [False, True])
def test_a_mouth_for_which_a_facing_is_too_short_blames_no_set(
    garment: PatternSet, drawn_there: bool
) -> None:
    """45 mm longer: in the smallest size the facing ends before the mouth does."""
    main, (facing, *_) = names(garment)
    opening = next(iter(garment.relations.openings.values()))
    small = garment.sizes[0]
    size = small if drawn_there else garment.base
    length = garment.sized(main, size).edge(opening.edge).length + 45.0
    drawn = moved(replace(garment, base=size), 0.0, length)
    with pytest.raises(EditError) as refused:
        revise(replace(garment, base=size), {main: Piece(main, {size: drawn})})
    said = str(refused.value)
    assert f"size '{small}'" in said
    assert f"on '{facing}'" in said
    if drawn_there:
        assert f"what was revised of '{main}' leaves what is taped to it behind" in said
    else:
        assert f"the change of '{main}' in size '{size}', carried to size '{small}'" in said
        assert f"nothing was drawn in size '{small}': send it too" in said
    assert "cannot be used" not in said
    assert "correct" not in said
