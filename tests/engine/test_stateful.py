"""Edit after edit: load, blend, revise, save, convert and load again, in any order.

What must hold is measured by means of its own after every step: lengths by shapely, files by
bare JSON and TOML, points by their bytes.
"""

from __future__ import annotations

import json
import shutil
import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from hypothesis import HealthCheck
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

import propagate
from propagate.engine.revise import revise
from propagate.engine.run import Result
from propagate.errors import PropagateError
from propagate.io.begin import read_style
from propagate.io.convert import write_style
from propagate.io.options import ReadOptions
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import OPENING_LENGTH_MM, SEAM_LENGTH_MM
from tests.builders import contents
from tests.engine import measure
from tests.examples import examples
from tests.fuzz.bases import small_set
from tests.revise.test_revise import let_out

SETS = ("tiny", "pocket", "scoop_skirt", "slant_trouser")
EDGES = {
    "tiny": [("front", "side"), ("back", "waist"), ("front", "hem")],
    "pocket": [("back", "side"), ("front", "hem"), ("back", "waist")],
    "scoop_skirt": [("skirt_back", "flank"), ("skirt_front", "foot"), ("skirt_back", "top")],
    "slant_trouser": [("back", "side"), ("back", "inseam"), ("front", "inseam"), ("welt", "sewn")],
}
"""Edges that a redraft lets out or takes in a little."""
AS_READ_MM = {"json": 0.0, "svg": 2e-6, "svg-folder": 2e-6, "dxf": 2e-3, "dxf-rules": 1.2e-2}
"""How far a point may lie from its place after it was written and read: the decimals; under
grade rules also the points of the sample size that stand for those of another."""
CARRIED_MM = 0.1
"""What a follower that was revised may be off by untold in a size that nobody drew: the same
change on a longer curve adds another length."""
TARGET = {"svg": "a.svg", "dxf": "a.dxf", "dxf-rules": "a.dxf"}


def gaps(pattern: PatternSet) -> dict[tuple[str, str], float]:
    """By how much the two sides of every seam disagree, in every size, mm."""
    return {
        (name, size): measure.run_length(pattern, size, seam.follow)
        - measure.run_length(pattern, size, seam.lead)
        - seam.ease
        for name, seam in pattern.relations.seams.items()
        if not seam.mirror
        for size in pattern.sizes
    }


def mouths(pattern: PatternSet) -> dict[tuple[str, str], float]:
    """Length of every opening in every size, mm."""
    return {
        (name, size): measure.polyline_length(
            measure.points_of(pattern.pieces[opening.piece].at(size), opening.edge)
        )
        for name, opening in pattern.relations.openings.items()
        for size in pattern.sizes
    }


def everything(pattern: PatternSet) -> bytes:
    """All of a set: every point by its bytes, all else as text."""
    found = [repr((pattern.name, pattern.sizes, pattern.base, pattern.relations, pattern.chart))]
    for piece in pattern.pieces.values():
        for size, sized in piece.nest.items():
            found.append(repr((piece.name, size, sized.landmarks, sized.darts, sized.grain)))
            found += [edge.name + edge.points.tobytes().hex() for edge in sized.edges]
    return "\n".join(found).encode()


def files_of(folder: Path) -> dict[str, bytes]:
    paths = [path for path in folder.rglob("*") if path.is_file()]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


def assert_plain_files(folder: Path, pattern: PatternSet) -> None:
    """The files say what the set says; read without the project."""
    said = tomllib.loads((folder / "set.toml").read_text(encoding="utf-8"))
    assert (said["sizes"], said["base"]) == (list(pattern.sizes), pattern.base)
    for name, piece in pattern.pieces.items():
        bare = json.loads((folder / "geometry" / f"{name}.json").read_text(encoding="utf-8"))
        assert list(bare["sizes"]) == list(piece.nest)
        for size, sized in piece.nest.items():
            edges = bare["sizes"][size]["edges"]
            for drawn, edge in zip(edges, sized.edges, strict=True):
                assert drawn["name"] == edge.name
                if "points" in drawn:  # else path data, as somebody wrote it
                    assert np.asarray(drawn["points"], float).tobytes() == edge.points.tobytes()


class Workroom(RuleBasedStateMachine):
    """A set that goes from hand to hand."""

    @initialize(name=st.sampled_from(SETS))
    def take_a_set(self, name: str) -> None:
        self.home = Path(tempfile.mkdtemp(prefix="workroom_"))
        self.count = 0
        self.name = name
        self.pattern = small_set(name)
        self.apart = {key: abs(gap) for key, gap in gaps(self.pattern).items()}
        self.opening = mouths(self.pattern)

    def teardown(self) -> None:
        if hasattr(self, "home"):
            shutil.rmtree(self.home)

    def place(self, name: str = "set") -> Path:
        """A new place on disk."""
        self.count += 1
        folder = self.home / str(self.count)
        folder.mkdir()
        return folder / name

    # --------------------------------------------------------------------------- steps

    @rule(
        sizes=st.tuples(st.integers(0, 2), st.integers(0, 2)),
        follow=st.sampled_from(["shape", "length"]),
        top=st.sampled_from(["trued", "traced"]),
        pocket=st.sampled_from(["upper", "lower"]),
        rise=st.sampled_from(["upper", "lower"]),
    )
    def blend(self, sizes: tuple[int, int], **options: Any) -> None:
        plan = self.pattern.relations.blend
        assert plan is not None
        upper, lower = (self.pattern.sizes[at] for at in sizes)
        edit = propagate.Blend({plan.upper: upper, plan.lower: lower}, **options)
        before = everything(self.pattern)
        result = propagate.blend(self.pattern, edit)
        assert everything(self.pattern) == before
        again = propagate.blend(self.pattern, edit)
        assert everything(again.pattern) == everything(result.pattern)
        self.assert_blended(result, upper, lower, options["pocket"])

    def assert_blended(self, result: Result, upper: str, lower: str, pocket: str) -> None:
        """Seams agree, mouths have their length, what is the same is so digit for digit."""
        new, size = result.pattern, result.pattern.base
        for (name, _), gap in gaps(new).items():
            seam = new.relations.seams[name]
            drawn = max(self.apart[name, s] for s in (upper, lower))
            allowed = seam.tolerance if seam.check else SEAM_LENGTH_MM + drawn
            assert abs(gap) <= allowed or not result.sews, (name, gap)
        for (name, _), long in mouths(new).items():
            wanted = mouths(self.pattern)[name, upper if pocket == "upper" else lower]
            assert abs(long - wanted) <= OPENING_LENGTH_MM
        for change in result.record.pieces:
            if change.status == "same":
                mine = new.sized(change.piece, size)
                drawn_as = [self.pattern.sized(change.piece, s) for s in (upper, lower)]
                assert any(everything_of(mine) == everything_of(old) for old in drawn_as)
        for sized in (piece.at(size) for piece in new.pieces.values()):
            assert measure.polygon(sized).is_valid
        itself = propagate.blend(new, propagate.Blend(dict.fromkeys(self.levels(), size)))
        assert everything(itself.pattern) == everything(new)
        self.written(new)

    def levels(self) -> tuple[str, str]:
        plan = self.pattern.relations.blend
        assert plan is not None
        return plan.upper, plan.lower

    @rule(
        at=st.integers(0, 9),
        by=st.floats(-2.0, 2.0).map(lambda v: round(v, 2)).filter(lambda v: abs(v) > 0.2),
        every_size=st.booleans(),
        carry=st.sampled_from(["millimetres", "proportion"]),
        follow=st.sampled_from(["shape", "length"]),
    )
    def revise(self, at: int, by: float, every_size: bool, **options: Any) -> None:
        name, edge = EDGES[self.name][at % len(EDGES[self.name])]
        piece = self.pattern.pieces[name]
        sizes = self.pattern.sizes if every_size else (self.pattern.base,)
        sent = Piece(name, {size: let_out(piece.at(size), edge, by, 2.0) for size in sizes})
        before = everything(self.pattern)
        try:
            found = revise(self.pattern, {name: sent}, **options)
        except PropagateError:
            assert everything(self.pattern) == before
            return
        assert everything(self.pattern) == before
        assert everything(revise(self.pattern, {name: sent}, **options).pattern) == (
            everything(found.pattern)
        )
        self.assert_untouched(found.pattern, found.records)
        for (seam, size), gap in gaps(found.pattern).items():
            record = found.records.get(size)
            told = [notice.text for notice in record.warnings] if record else []
            named = any(f"{abs(gap):.2f} mm" in text for text in told)
            drawn = every_size or size == self.pattern.base
            allowed = self.apart[seam, size] + (SEAM_LENGTH_MM if drawn else CARRIED_MM)
            if self.pattern.relations.seams[seam].check:
                allowed = self.pattern.relations.seams[seam].tolerance
            assert abs(gap) <= allowed or named or not found.sews, (seam, size, gap)
        again = revise(found.pattern, {name: found.pattern.pieces[name]}, **options)
        assert not again.changed
        if found.sews:
            self.pattern = found.pattern
            self.apart = {key: abs(gap) for key, gap in gaps(found.pattern).items()}

    def assert_untouched(self, new: PatternSet, records: Mapping[str, Any]) -> None:
        """What no record names as changed is bit for bit what it was."""
        for size in self.pattern.sizes:
            record = records.get(size)
            changed = {c.piece for c in record.pieces if c.status != "same"} if record else set()
            for name in self.pattern.pieces:
                if name not in changed:
                    old, now = (p.sized(name, size) for p in (self.pattern, new))
                    assert everything_of(old) == everything_of(now), (name, size)

    @rule()
    def send_what_nobody_changed(self) -> None:
        name = next(iter(self.pattern.pieces))
        found = revise(self.pattern, {name: self.pattern.pieces[name]})
        assert not found.changed
        assert everything(found.pattern) == everything(self.pattern)

    @rule()
    def save_and_load(self) -> None:
        folder = self.written(self.pattern)
        self.pattern = propagate.load(folder)

    def written(self, pattern: PatternSet) -> Path:
        """Save, look at the files, load and save again: the same set and the same bytes."""
        folder, again = self.place(), self.place()
        propagate.save(pattern, folder)
        assert_plain_files(folder, pattern)
        back = propagate.load(folder)
        assert contents(back) == contents(pattern)
        propagate.save(back, again)
        assert files_of(folder) == files_of(again)
        return folder

    @rule(form=st.sampled_from(sorted(AS_READ_MM)))
    def convert(self, form: str) -> None:
        target = self.place(TARGET.get(form, "drawn"))
        before = everything(self.pattern)
        write_style(self.pattern, target, form)
        assert everything(self.pattern) == before
        read, _ = read_style([target], ReadOptions(base=self.pattern.base))
        assert set(read.sizes) == set(self.pattern.sizes)
        assert set(read.pieces) == set(self.pattern.pieces)
        off = max(
            farthest(piece.at(size), read.pieces[name].at(size))
            for name, piece in self.pattern.pieces.items()
            for size in self.pattern.sizes
        )
        assert off <= AS_READ_MM[form], (form, off)
        joined = replace(read, relations=self.pattern.relations)
        for key, gap in gaps(joined).items():
            assert abs(gap - gaps(self.pattern)[key]) <= 100 * AS_READ_MM[form] + 1e-9, (key, gap)

    # ---------------------------------------------------------------------- what holds

    @invariant()
    @precondition(lambda self: hasattr(self, "pattern"))
    def openings_keep_their_length(self) -> None:
        for key, long in mouths(self.pattern).items():
            assert abs(long - self.opening[key]) <= OPENING_LENGTH_MM * (1 + self.count), key

    @invariant()
    @precondition(lambda self: hasattr(self, "pattern"))
    def outlines_are_sound(self) -> None:
        for piece in self.pattern.pieces.values():
            for sized in piece.nest.values():
                assert measure.polygon(sized).is_valid
                assert np.isfinite(measure.outline(sized)).all()


def everything_of(sized: SizedPiece) -> bytes:
    """A piece in one size by its bytes."""
    marks = repr((sized.landmarks, sized.darts, sized.drills, sized.grain)).encode()
    return marks + b"".join(edge.points.tobytes() for edge in sized.edges)


def farthest(old: SizedPiece, new: SizedPiece) -> float:
    """How far a vertex of one outline lies from the other, at most, mm."""
    a, b = measure.outline(old), measure.outline(new)
    rings = [shapely.LinearRing(a), shapely.LinearRing(b)]
    return max(
        float(shapely.distance(shapely.points(b), rings[0]).max()),
        float(shapely.distance(shapely.points(a), rings[1]).max()),
    )


TestWorkroom = Workroom.TestCase
TestWorkroom.settings = examples(5, stateful_step_count=6, suppress_health_check=list(HealthCheck))
