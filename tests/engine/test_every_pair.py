"""Everything that must hold on a blend, on ordered pairs of sizes of both demo sets.

Both ways, by shape those an odd number of sizes apart and the ends of the nest, by length
neighbours and the ends, and each size with itself; with the profile ``long`` every pair.
Results are measured with the means of `tests.engine.measure` (numpy, scipy, shapely on bare
points) and never read from the record; then the record's own figures are compared with what
was measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pytest
import shapely

from propagate import cut_line
from propagate.engine.run import Result
from propagate.engine.tape import tape
from propagate.pattern.patternset import PatternSet
from tests.engine import measure
from tests.examples import goes_on, part_of
from tests.shared import blended, demo, once_for_each

SEAM_MM, LINE_MM, GIRTH_MM, BAND_MM, STICKS_OUT_MM2 = 0.05, 0.01, 0.1, 0.05, 1.0
CORNER_DEG, JOIN_DEG, CURVATURE_RATIO = 1.0, 0.5, 1.6
STRAIGHT = 1 / 5000  # a bow of 1 mm over 200 mm
SETS = ("slant_trouser", "scoop_skirt")


_taped_once = once_for_each(measure.taped)
"""Silhouettes of the sets themselves, which many cases are compared with."""


@once_for_each
def _parent_curve(parent: measure.Taped, edge: str, top: str, level: str) -> measure.Curve:
    """The stretch of a parent above a level, measured once for every case that has this parent."""
    return measure.curve(parent.above(edge, top, level))


@dataclass(frozen=True, repr=False)
class Case:
    """One blend and everything that is measured on it."""

    source: PatternSet
    upper: str
    lower: str
    result: Result

    def __repr__(self) -> str:
        return f"{self.source.name} {self.upper} on {self.lower}"

    @property
    def pattern(self) -> PatternSet:
        return self.result.pattern

    @property
    def size(self) -> str:
        return self.pattern.base

    @property
    def plan(self):
        return self.source.relations.blend

    def piece(self, name: str):
        return self.pattern.pieces[name].at(self.size)

    @cached_property
    def new(self) -> Mapping[str, measure.Taped]:
        return self._taped(self.pattern, self.size)

    @cached_property
    def old(self) -> Mapping[str, measure.Taped]:
        """The mains in the size of the lower level."""
        return self._taped(self.source, self.lower)

    @cached_property
    def top(self) -> Mapping[str, measure.Taped]:
        """The mains in the size of the upper level."""
        return self._taped(self.source, self.upper)

    def _taped(self, pattern: PatternSet, size: str) -> Mapping[str, measure.Taped]:
        taped = measure.taped if pattern is self.pattern else _taped_once
        return {main.silhouette: taped(pattern, main.silhouette, size) for main in self.plan.mains}

    @property
    def opening(self):
        (opening,) = self.source.relations.openings.values()
        return opening

    @property
    def stack(self):
        (stack,) = self.source.relations.stacks.values()
        return stack

    @cached_property
    def seats(self) -> Mapping[str, measure.Rigid]:
        """Every layer of the pocket registered on the main piece."""
        main = self.piece(self.opening.piece)
        return {
            layer.piece: measure.put(main, self.piece(layer.piece), layer)
            for layer in self.stack.layers
        }

    def warnings(self, where: str) -> list[str]:
        return [notice.text for notice in self.result.record.warnings if notice.where == where]


def _groups() -> list[tuple[str, str, str]]:
    return [
        (name, upper, follow)
        for name in SETS
        for upper in demo(name).sizes
        for follow in ("shape", "length")
    ]


@pytest.fixture(scope="module", params=_groups(), ids="-".join)
def cases(request) -> list[Case]:
    """One size of the top on every other size."""
    name, upper, follow = request.param
    source = demo(name)
    return [
        Case(
            source,
            upper,
            lower,
            blended(name, upper, lower, follow=follow),
        )
        for lower in source.sizes
        if lower != upper and _is_measured(source.sizes, upper, lower, follow)
    ]


def _is_measured(sizes: Sequence[str], upper: str, lower: str, follow: str) -> bool:
    """By shape what is an odd number of sizes apart, by length neighbours; the ends of the nest.

    The profile ``long`` measures every pair.
    """
    apart = abs(sizes.index(upper) - sizes.index(lower))
    near = apart % 2 == 1 if follow == "shape" else apart == 1
    return near or apart == len(sizes) - 1 or goes_on()


def close(found: float, expected: float, tolerance: float, *what: object) -> None:
    """Assert with a message that a person can read."""
    assert abs(found - expected) <= tolerance, (
        *map(str, what),
        f"found {found:.4f}, expected {expected:.4f}, {found - expected:+.4f}",
    )


# --------------------------------------------------------------------------------- seams


def test_seams_agree_on_the_seam_line(cases):
    for case in cases:
        rows = {row.name: row for row in case.result.record.seams if row.kind == "seam"}
        for seam in case.source.relations.seams.values():
            if seam.mirror:
                continue
            lead = measure.run_length(case.pattern, case.size, seam.lead)
            follow = measure.run_length(case.pattern, case.size, seam.follow)
            close(follow, lead + seam.ease, SEAM_MM, case, seam.name)
            if seam.name in rows:
                close(rows[seam.name].first, lead, LINE_MM, case, seam.name, "record")
                close(rows[seam.name].second, follow, LINE_MM, case, seam.name, "record")
        assert case.source.relations.blend.seam in rows


def test_notches_meet(cases):
    for case in cases:
        for seam in case.source.relations.seams.values():
            for pair in seam.notches:
                places = [
                    _on_run(case, run, name)
                    for run, name in zip((seam.lead, seam.follow), pair, strict=True)
                ]
                close(places[1], places[0], SEAM_MM + LINE_MM, case, seam.name, pair)


def _on_run(case: Case, run, name: str) -> float:
    """Distance of a notch from the start of a run."""
    piece, _, landmark = name.partition(".")
    done = 0.0
    for span in run:
        sized = case.piece(span.piece)
        on_edge = [m for m in sized.landmarks if m.name == landmark and m.edge == span.edge]
        if span.piece == piece and on_edge:
            ends = [measure.along(sized, span.edge, end) for end in (span.begin, landmark)]
            return done + abs(ends[1] - ends[0])
        done += measure.span_length(sized, span)
    raise AssertionError(f"{name} lies on no span of its run")


# ------------------------------------------------------------------- beyond the hold


def test_beyond_the_hold_not_a_digit_differs(cases):
    """Assembly against assembly, as the engine tapes them, and edge against edge."""
    compared = 0
    for case in cases:
        for main in case.plan.mains:
            new = tape(case.pattern, main.silhouette, case.size)
            old = tape(case.source, main.silhouette, case.lower)
            for name in (edge.name for edge in old.edges):
                before, after = old.edge(name).points, new.edge(name).points
                kept = _beyond(case, main, before)
                assert measure.same_digits(before[kept], after[_beyond(case, main, after)]), (
                    str(case),
                    main.silhouette,
                    name,
                )
                compared += int(kept.sum())
            lead = old.lead
            for edge in case.source.pieces[lead].at(case.lower).edges:
                if _beyond(case, main, edge.points).all():
                    assert case.piece(lead).edge(edge.name) == edge, (str(case), lead, edge.name)
                    compared += 1
    assert compared > 40 * len(cases)


def _beyond(case: Case, main, points) -> np.ndarray:
    """Vertices beyond the hold; the one that stands on it is new (or kept)."""
    silhouette = case.old[main.silhouette]
    top = silhouette.height(silhouette.edges[main.across]).mean()
    hold = silhouette.level(main.side_hold)
    return (silhouette.height(points) - hold) * np.sign(top - hold) < -1e-6


def test_what_lies_inside_beyond_the_hold_is_the_lower_sizes(cases):
    for case in cases:
        for main in case.plan.mains:
            lead = tape(case.source, main.silhouette, case.lower).lead
            old, new = case.source.pieces[lead].at(case.lower), case.piece(lead)
            assert new.grain == old.grain
            for mark in old.landmarks:
                if _beyond(case, main, [mark.point]).all():
                    found = measure.landmark(new, mark.name)
                    close(np.linalg.norm(found - mark.point), 0.0, SEAM_MM, case, lead, mark.name)
            for level, point in old.levels.items():
                if _beyond(case, main, [point]).all():
                    assert new.levels[level] == point, (str(case), lead, level)


# ------------------------------------------------------------------------------- opening


def test_the_opening_keeps_its_length_and_lands_on_both_lines(cases):
    for case in cases:
        opening = case.opening
        new, old = case.piece(opening.piece), case.source.pieces[opening.piece].at(case.upper)
        line = measure.points_of(new, opening.edge)
        drawn = measure.points_of(old, opening.edge)
        size, before = measure.polyline_length(line), measure.polyline_length(drawn)
        close(size, before, LINE_MM, case, "opening")
        ends = {opening.across_end: opening.across, opening.side_end: opening.side}
        for layer in case.stack.layers:
            # Layers that run on past the opening's ends carry the lines without a vertex there.
            for own, on in layer.ride.items():
                sized = case.piece(layer.piece)
                placed = case.seats[layer.piece](measure.points_of(sized, own))
                for end, silhouette_edge in ends.items():
                    if on == silhouette_edge:
                        point = line[0 if end == "start" else -1]
                        gap = float(measure.nearest(point, placed)[0])
                        close(gap, 0.0, LINE_MM, case, layer.piece, own)
        # The curve itself is the old one, moved rigidly.
        moved = measure.registration(drawn, line)
        assert measure.farthest_apart(moved(drawn), line) < LINE_MM, str(case)
        (row,) = case.result.record.openings
        close(row.before_mm, before, LINE_MM, case, "record")
        close(row.after_mm, size, LINE_MM, case, "record")
        swing = _direction(line) - _direction(drawn)
        grains = [np.subtract(p.grain.end, p.grain.start) for p in (old, new)]
        swing -= np.arctan2(*grains[1][::-1]) - np.arctan2(*grains[0][::-1])
        close(measure.degrees_between(0.0, swing), row.swing_deg, 1e-3, case, "swing")
        chord = np.linalg.norm(drawn[-1] - drawn[0])
        moved_mm = 2 * chord * abs(np.sin(swing / 2))
        close(row.moved_mm, moved_mm, LINE_MM, case, "far end moved")


def _direction(line) -> float:
    return float(np.arctan2(*(line[-1] - line[0])[::-1]))


def test_the_opening_keeps_its_distance_from_the_side_corner(cases):
    for case in cases:
        opening, (row,) = case.opening, case.result.record.openings
        distances = []
        for pattern, size, mains in (
            (case.pattern, case.size, case.new),
            (case.source, case.upper, case.top),
        ):
            silhouette = mains[opening.silhouette]
            line = measure.points_of(pattern.pieces[opening.piece].at(size), opening.edge)
            across = shapely.LineString(silhouette.edges[opening.across])
            place = across.project(shapely.Point(line[0 if opening.across_end == "start" else -1]))
            first = silhouette.edges[opening.across][0]
            at_start = np.linalg.norm(silhouette.edges[opening.side][[0, -1]] - first, axis=1).min()
            distances.append(place if at_start < 1e-6 else across.length - place)
        close(distances[0], distances[1] + row.slid_mm, LINE_MM, case, "inset")


# --------------------------------------------------------------------------------- stack


def test_bag_edges_that_are_sewn_together_stay_alike(cases):
    layers = {layer.piece for layer in cases[0].stack.layers}
    for case in cases:
        found = 0
        for seam in case.source.relations.seams.values():
            if {span.piece for span in seam.lead + seam.follow} <= layers:
                lead, follow = seam.lead[0], seam.follow[0]
                lines = [
                    case.seats[span.piece](measure.span_points(case.piece(span.piece), span))
                    for span in (lead, follow)
                ]
                gap = measure.farthest_apart(*lines)
                close(gap, 0.0, LINE_MM, case, seam.name)
                found += 1
        assert found == 1


def test_riding_edges_lie_on_the_full_fronts_outline(cases):
    for case in cases:
        silhouette = case.new[case.opening.silhouette]
        for layer in case.stack.layers:
            sized = case.piece(layer.piece)
            for own, on in layer.ride.items():
                placed = case.seats[layer.piece](measure.points_of(sized, own))
                dense = shapely.get_coordinates(shapely.segmentize(shapely.LineString(placed), 3.0))
                gap = float(measure.nearest(dense, silhouette.edges[on]).max())
                close(gap, 0.0, LINE_MM, case, layer.piece, own)


def test_no_layer_sticks_out(cases):
    for case in cases:
        silhouette = case.new[case.opening.silhouette].polygon
        rows = {row.piece: row for row in case.result.record.stacks}
        for layer in case.stack.layers:
            outline = measure.outline(case.piece(layer.piece))
            placed = shapely.Polygon(case.seats[layer.piece](outline))
            out = placed.difference(silhouette).area
            assert out <= STICKS_OUT_MM2, (str(case), layer.piece, out)
            close(rows[layer.piece].sticks_out_mm2, out, 0.1, case, layer.piece, "record")


def test_the_ends_of_the_opening_are_the_same_point_on_every_layer(cases):
    for case in cases:
        main = case.piece(case.opening.piece)
        for layer in case.stack.layers:
            sized = case.piece(layer.piece)
            for own, theirs in layer.put:
                placed = case.seats[layer.piece](measure.landmark(sized, own))
                gap = np.linalg.norm(placed - measure.landmark(main, theirs))
                close(gap, 0.0, LINE_MM, case, layer.piece, own)


def test_what_was_added_and_trimmed_is_reported_at_the_waist_and_at_the_side(cases):
    for case in cases:
        rows = {row.piece: row for row in case.result.record.stacks}
        for layer in case.stack.layers:
            old = case.source.pieces[layer.piece].at(case.upper)
            new = case.piece(layer.piece)
            rides = {row.edge: row for row in rows[layer.piece].rides}
            assert set(rides) == set(layer.ride)
            for own in layer.ride:
                # Layers stay in their own frames: old and new can be laid over each other.
                fresh, worn = (measure.fine_points_of(p, own) for p in (new, old))
                added = float(shapely.distance(fresh, measure.polygon(old)).max())
                trimmed = float(shapely.distance(worn, measure.polygon(new)).max())
                close(rides[own].added_mm, added, LINE_MM, case, layer.piece, own)
                close(rides[own].trimmed_mm, trimmed, LINE_MM, case, layer.piece, own)


# ---------------------------------------------------------------------- girths and bands


def test_girths_are_those_of_the_sizes_that_give_them(cases):
    for case in cases:
        rows = {row.girth: row for row in case.result.record.girths}
        for girth in case.source.relations.girths.values():
            size = case.upper if girth.name == case.plan.upper else case.lower
            wanted = measure.girth(case.source, girth, size)
            found = measure.girth(case.pattern, girth, case.size)
            close(found, wanted, GIRTH_MM, case, girth.name)
            close(rows[girth.name].found_mm, found, LINE_MM, case, girth.name, "record")
            close(rows[girth.name].wanted_mm, wanted, LINE_MM, case, girth.name, "record")
        assert {case.plan.upper, case.plan.lower} <= set(rows)


def test_band_zones_equal_their_runs(cases):
    for case in cases:
        rows = {row.name: row for row in case.result.record.bands}
        for band in case.source.relations.bands.values():
            sized = case.piece(band.piece)
            old = case.source.pieces[band.piece].at(case.upper)
            for zone in band.zones:
                size = _zone(sized, band, zone)
                if not zone.run:
                    close(size, _zone(old, band, zone), LINE_MM, case, zone.name)
                    continue
                run = measure.run_length(case.pattern, case.size, zone.run)
                close(size + zone.ease, run, BAND_MM, case, band.name, zone.name)
                row = rows[f"{band.name} {zone.name}"]
                close(row.first, size, LINE_MM, case, zone.name, "record")
                close(row.second, run, LINE_MM, case, zone.name, "record")


def _zone(sized, band, zone) -> float:
    ends = [measure.along(sized, band.sewn, end) for end in (zone.begin, zone.end)]
    return ends[1] - ends[0]


# ------------------------------------------------------------------------------ fairness


def _join(new: np.ndarray, old: np.ndarray) -> int:
    """Index of the last vertex from below that lies on the old line: where drawing began."""
    count = min(len(new), len(old))
    alike = (new[:count] == old[:count]).all(axis=1)
    first = count if alike.all() else int(np.argmin(alike))
    on_line = measure.nearest(new[first], old)[0] < 1e-6 if first < len(new) else False
    return first if on_line else first - 1


def _drawn(case: Case, main, edge: str) -> tuple[np.ndarray, np.ndarray]:
    """The kept and the drawn part of an upward edge."""
    new = case.new[main.silhouette].up(edge, main.across)
    join = _join(new, case.old[main.silhouette].up(edge, main.across))
    return new[: join + 1], new[join:]


def _tail(points: np.ndarray, size: float) -> np.ndarray:
    arc = np.linalg.norm(np.diff(points, axis=0), axis=1)[::-1].cumsum()
    return points[-int(np.searchsorted(arc, size)) - 2 :]


def _seams(case: Case) -> Iterator[tuple[object, str]]:
    for main in case.plan.mains:
        yield main, main.side
        yield main, main.centre


def _row(case: Case, main, edge: str):
    (row,) = [row for row in case.result.record.fairness if row.edge == f"{main.silhouette}/{edge}"]
    return row


def test_side_and_centre_join_without_a_kink(cases):
    for case in cases:
        for main, edge in _seams(case):
            kept, drawn = _drawn(case, main, edge)
            kink = measure.degrees_between(
                measure.end_tangent(kept, "end"), measure.end_tangent(drawn, "start")
            )
            close(kink, 0.0, JOIN_DEG, case, main.silhouette, edge)
            close(_row(case, main, edge).join_deg, kink, 0.2, case, main.silhouette, edge)


def test_curvature_is_at_most_1_6_times_that_of_the_parents_and_the_plain_arc(cases):
    for case in cases:
        for main, edge in _seams(case):
            kept, drawn = _drawn(case, main, edge)
            arc = measure.plain_arc_curvature(drawn[0], measure.end_tangent(kept, "end"), drawn[-1])
            parents = [
                _parent_curve(
                    silhouettes[main.silhouette], edge, main.across, case.plan.lower
                ).largest
                for silhouettes in (case.old, case.top)
            ]
            found = measure.largest_curvature(drawn)
            limit = CURVATURE_RATIO * max(arc, *parents, STRAIGHT)
            assert found <= limit, (str(case), main.silhouette, edge, found, arc, parents)
            assert _row(case, main, edge).ok, (str(case), _row(case, main, edge))


def test_no_more_curvature_peaks_than_the_parents(cases):
    for case in cases:
        for main in case.plan.mains:
            _, drawn = _drawn(case, main, main.side)
            parents = [
                _parent_curve(
                    silhouettes[main.silhouette], main.side, main.across, case.plan.lower
                ).peaks
                for silhouettes in (case.old, case.top)
            ]
            assert measure.curvature_peaks(drawn) <= max(parents), (str(case), main.silhouette)


def test_a_side_bends_back_only_where_it_must_and_says_so(cases):
    """Once, with a warning, where the corner lies beyond the lower size's tangent; else never."""
    for case in cases:
        for main in case.plan.mains:
            kept, drawn = _drawn(case, main, main.side)
            below = _tail(kept, 60.0)
            found = measure.inflections(np.vstack([below, drawn[1:]]))
            tangent = measure.end_tangent(kept, "end")
            bend = measure.degrees_between(measure.end_tangent(below, "start"), tangent)
            chord = drawn[-1] - drawn[0]
            beyond = measure.degrees_between(tangent, float(np.arctan2(*chord[::-1])))
            must = bend * beyond < 0
            where = f"{main.silhouette}/{main.side}"
            said = [text for text in case.warnings(where) if "bends back" in text]
            assert found <= int(must), (str(case), where, bend, beyond)
            assert len(said) == found, (str(case), where, said, found)
            assert _row(case, main, main.side).inflections == found


def test_a_centre_does_not_bend_back(cases):
    for case in cases:
        for main in case.plan.mains:
            _, drawn = _drawn(case, main, main.centre)
            assert measure.inflections(drawn) == 0, (str(case), main.silhouette)


# ------------------------------------------------------------------------------- corners


def test_corner_angles_add_across_the_side_as_in_the_size_of_the_top(cases):
    for case in cases:
        sums = [
            sum(
                measure.corner_angle(
                    silhouettes[main.silhouette].edges[main.across],
                    silhouettes[main.silhouette].edges[main.side],
                )
                for main in case.plan.mains
            )
            for silhouettes in (case.new, case.top)
        ]
        close(sums[0], sums[1], CORNER_DEG, case, "corner sum")
        (row,) = [row for row in case.result.record.corners if row.kind == "top corners"]
        close(row.found_sum, sums[0], 0.5, case, "record")
        close(row.wanted_sum, sums[1], 0.5, case, "record")


def test_the_waist_from_the_centre_to_its_hold_is_the_top_sizes_moved_rigidly(cases):
    for case in cases:
        for main in case.plan.mains:
            new, old = (
                _from_centre(silhouettes[main.silhouette], main)
                for silhouettes in (case.new, case.top)
            )
            held = _across_hold(case, main)
            parts = [_head(line, held) for line in (new, old)]
            moved = measure.registration(*(p[[0, -1]] for p in (parts[1], parts[0])))
            assert measure.farthest_apart(moved(parts[1]), parts[0]) < LINE_MM, (
                str(case),
                main.silhouette,
            )


def _from_centre(silhouette: measure.Taped, main) -> np.ndarray:
    points = silhouette.edges[main.across]
    centre = silhouette.edges[main.centre]
    at_start = np.linalg.norm(centre[[0, -1]] - points[0], axis=1).min() < 1e-6
    return points if at_start else points[::-1]


def _across_hold(case: Case, main) -> float:
    line = shapely.LineString(_from_centre(case.top[main.silhouette], main))
    if main.across_hold is None:
        return line.length / 2
    _, _, name = main.across_hold.partition(".")
    return line.project(shapely.Point(measure.landmark(case.top[main.silhouette].lead, name)))


def _head(line: np.ndarray, size: float) -> np.ndarray:
    return shapely.get_coordinates(shapely.ops.substring(shapely.LineString(line), 0.0, size))


# -------------------------------------------------------------------------- marks inside


def test_darts_and_lines_of_the_top_are_the_top_sizes_moved_as_one(cases):
    """Dart legs and tip, welt line: one translation takes all of them to their new places."""
    for case in cases:
        for main in case.plan.mains:
            lead = case.new[main.silhouette].lead
            old = case.top[main.silhouette].lead
            turn = _turned(old, lead)
            shifts = [
                lead_line.points - turn(old_line.points)
                for lead_line, old_line in zip(lead.lines, old.lines, strict=True)
            ]
            for new_dart, old_dart in zip(lead.darts, old.darts, strict=True):
                shifts.append([np.array(new_dart.tip) - turn(old_dart.tip)])
                for leg in new_dart.legs:
                    place = measure.landmark(lead, leg) - turn(measure.landmark(old, leg))
                    shifts.append([place])
            if not shifts:
                continue
            spread = np.ptp(np.vstack(shifts), axis=0).max()
            close(spread, 0.0, LINE_MM, case, main.silhouette, "shifts of darts and lines")
            # It is the motion that lays the held waist: centre corner on centre corner.
            corner = _from_centre(case.new[main.silhouette], main)[0]
            drawn = turn(_from_centre(case.top[main.silhouette], main)[0])
            gap = np.linalg.norm(np.vstack(shifts).mean(axis=0) - (corner - drawn))
            close(gap, 0.0, LINE_MM, case, main.silhouette)


def _turned(old, new) -> measure.Rigid:
    """The turn of the old piece's grain on to the new one's, about the origin."""
    lines = [np.subtract(sized.grain.end, sized.grain.start) for sized in (old, new)]
    pairs = [np.vstack([vector, -vector]) / np.linalg.norm(vector) for vector in lines]
    return measure.registration(*pairs)


def test_anchored_marks_keep_their_distance(cases):
    """A fly notch is as far from the waist as in the top's size, a zip's end from the hem."""
    found = 0
    for case in cases:
        for main in case.plan.mains:
            new = case.new[main.silhouette].lead
            (name,) = [n for n, p in case.pattern.pieces.items() if p.at(case.size) is new]
            for mark, anchor in case.source.info[name].anchors.items():
                edge, _, end = anchor.partition(".")
                (on,) = [m.edge for m in new.landmarks if m.name == mark]
                corner = measure.landmark(new, anchor)
                # The end comes from the size of the top when it lies on the crossing edge.
                across = case.new[main.silhouette].edges[main.across]
                above = measure.nearest(corner, across)[0] < 1e-6
                size = case.upper if above else case.lower
                distances = []
                for sized in (new, case.source.pieces[name].at(size)):
                    place = measure.along(sized, on, mark)
                    total = measure.polyline_length(measure.points_of(sized, edge))
                    distances.append(place if end == "start" else total - place)
                close(distances[0], distances[1], SEAM_MM, case, name, mark)
                found += 1
    assert found


def test_a_facings_grain_is_parallel_to_the_fronts(cases):
    for case in cases:
        shows = [layer for layer in case.stack.layers if layer.shows]
        assert shows
        main = case.new[case.opening.silhouette].grain
        for layer in shows:
            grain = case.piece(layer.piece).grain
            ends = case.seats[layer.piece]([grain.start, grain.end])
            along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
            close(abs(main[0] * along[1] - main[1] * along[0]), 0.0, 1e-4, case, layer.piece)
            inside = measure.polygon(case.piece(layer.piece)).buffer(1e-6)
            assert inside.contains(shapely.LineString([grain.start, grain.end])), str(case)


# ------------------------------------------------------------------------------- outlines


def test_outlines_are_simple_and_counter_clockwise_and_names_are_unchanged(cases):
    for case in cases:
        assert list(case.pattern.pieces) == list(case.source.pieces)
        for name in case.source.pieces:
            new, old = case.piece(name), case.source.pieces[name].at(case.upper)
            outline = measure.outline(new)
            assert shapely.LinearRing(outline).is_simple, (str(case), name)
            assert measure.signed_area(outline) > 0, (str(case), name)
            closed = [*new.edges[1:], new.edges[0]]
            for edge, following in zip(new.edges, closed, strict=True):
                assert measure.same_digits(edge.points[-1], following.points[0])
                steps = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
                assert steps.min() > 0.015, (str(case), name, edge.name)
            assert _names(new) == _names(old), (str(case), name)


def _names(sized) -> tuple:
    return (
        [edge.name for edge in sized.edges],
        [(mark.name, mark.edge, mark.kind) for mark in sized.landmarks],
        [dart.name for dart in sized.darts],
        [line.name for line in sized.lines],
        [mark.name for mark in sized.drills],
        list(sized.levels),
    )


def test_landmarks_lie_on_their_edges(cases):
    for case in cases:
        for name in case.source.pieces:
            sized = case.piece(name)
            for mark in sized.landmarks:
                gap = measure.nearest(mark.point, measure.points_of(sized, mark.edge))[0]
                close(gap, 0.0, LINE_MM, case, name, mark.name)


def test_cut_lines_contain_the_seam_lines(cases):
    # Lines take time, and differ little from those of the next size.
    for case in part_of(cases, 4):
        # A piece that was taken as it is shows nothing new.
        for name in sorted(_recut(case)):
            sized = case.piece(name)
            line = shapely.Polygon(cut_line(sized, case.pattern.info[name]).points)
            assert line.is_valid, (str(case), name)
            assert line.buffer(1e-6).contains(measure.polygon(sized)), (str(case), name)


def _recut(case: Case) -> set[str]:
    """Pieces that are not, object for object, one of the source's."""
    return {
        name
        for name, piece in case.source.pieces.items()
        if not any(case.piece(name) is sized for sized in piece.nest.values())
    }


# --------------------------------------------------------------------- sizes with themselves


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("follow", ["shape", "length"])
def test_a_size_blended_with_itself_has_nothing_to_report(name, follow):
    source = demo(name)
    for size in source.sizes:
        result = blended(name, size, size, follow=follow)
        assert not result.record.warnings
        assert all(
            result.pattern.pieces[piece].at(size) == source.pieces[piece].at(size)
            for piece in source.pieces
        )
