"""Random edits of any set, and what must hold after each, measured by other means.

Edits are drawn from what a set has: its lines, levels, notches, darts, seams.  Many a one cannot be
done and is refused; what is done is judged by numpy and shapely on the bare points.  Run as
``python -m tests.edits.random_edits --minutes 15 --seed 7`` it goes on and counts.

Edits are judged by themselves: the corners that they leave are not trued here.
"""

from __future__ import annotations

import argparse
import json
import random
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import shapely

import propagate
from propagate import PatternSet, PropagateError, Result
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.run import settle
from propagate.pattern.ease import Ease, EaseSaid
from tests.engine import measure
from tests.review.judge import demo as shipped
from tests.shared import demo

SETS = (*propagate.demo_names(), "garden_apron")
BACK_MM, NEAR_MM = 0.05, 0.5
SAME_MM = 1e-6

INVERSE: Mapping[str, str] = {
    "take-in": "let-out",
    "let-out": "take-in",
    "raise": "lower",
    "lower": "raise",
    "lengthen": "shorten",
    "shorten": "lengthen",
    "move-mark": "move-mark",
}


@cache
def sound(name: str) -> PatternSet:
    """One of the ten sets, in its base size alone."""
    pattern = shipped(name) if name == "garden_apron" else demo(name)
    base = pattern.base
    pieces = {n: propagate.Piece(n, {base: p.at(base)}) for n, p in pattern.pieces.items()}
    chart = {n: {base: row[base]} for n, row in pattern.chart.items()}
    return replace(pattern, sizes=(base,), pieces=pieces, chart=chart)


# ------------------------------------------------------------------------------ drawing lots


def drawn_lot(pattern: PatternSet, rng: random.Random) -> list[str]:
    """Words of an edit that a set may well allow: ``["take-in", "edge=back.side", ...]``."""
    makers = [_moved, _moved, _moved, _across, _cut, _marked, _drawn, _eased, _trued, _fuller]
    if any(piece.at(pattern.base).darts for piece in pattern.pieces.values()):
        makers += [_darted, _darted]
    if pattern.relations.openings:
        makers.append(_opened)
    return rng.choice(makers)(pattern, rng)


def _mm(rng: random.Random, low: float, high: float) -> str:
    return f"{round(rng.uniform(low, high), 1):g}mm"


def _lines(pattern: PatternSet) -> dict[str, tuple[float, float]]:
    """Every edge, whole as sewn: its length, and how much it runs up the piece (0 to 1)."""
    base = pattern.base
    found, parts = {}, set()
    for name, assembly in pattern.relations.assemblies.items():
        taped = measure.taped(pattern, name, base)
        for edge, run in assembly.edges.items():
            parts |= {(span.piece, span.edge) for span in run}
            found[f"{name}.{edge}"] = _runs(taped.edges[edge], taped.grain)
    for name, piece in pattern.pieces.items():
        sized = piece.at(base)
        grain = np.subtract(sized.grain.end, sized.grain.start)
        for edge in sized.edges:
            if (name, edge.name) not in parts:
                found[f"{name}.{edge.name}"] = _runs(edge.points, grain / np.linalg.norm(grain))
    return found


def _runs(points: np.ndarray, grain: np.ndarray) -> tuple[float, float]:
    chord = points[-1] - points[0]
    return measure.polyline_length(points), float(abs(chord @ grain) / np.linalg.norm(chord))


def _places(pattern: PatternSet, key: str, rng: random.Random) -> list[str]:
    owner = key.partition(".")[0]
    assembly = pattern.relations.assemblies.get(owner)
    piece = pattern.sized(owner if assembly is None else assembly.lead, pattern.base)
    return rng.sample(["start", "end", *sorted(piece.levels)], k=2)


def _line(pattern: PatternSet, rng: random.Random, upright: bool, least: float = 100.0) -> str:
    known = sorted(
        key
        for key, (length, up) in _lines(pattern).items()
        if length > least and (up > 0.7) == upright
    )
    return rng.choice(known or sorted(_lines(pattern)))


def _moved(pattern: PatternSet, rng: random.Random) -> list[str]:
    edge = _line(pattern, rng, upright=True)
    said = [rng.choice(["take-in", "let-out"]), f"edge={edge}", f"by={_mm(rng, 0.5, 9)}"]
    if rng.random() < 0.75:
        at, to = _places(pattern, edge, rng)
        said += [f"at={at}", f"to={to}"]
    return [*said, "both=true"] if rng.random() < 0.5 else said


def _across(pattern: PatternSet, rng: random.Random) -> list[str]:
    edge = _line(pattern, rng, upright=False)
    said = [rng.choice(["raise", "lower"]), f"edge={edge}", f"by={_mm(rng, 0.5, 9)}"]
    if rng.random() < 0.6:
        at, to = rng.sample(["start", "end"], k=2)
        said += [f"at={at}", f"to={to}", f"taper={rng.choice(['smooth', 'straight'])}"]
    return said


def _cut(pattern: PatternSet, rng: random.Random) -> list[str]:
    levels = sorted({n for p in pattern.pieces.values() for n in p.at(pattern.base).levels})
    some = rng.sample(levels, k=min(len(levels), rng.choice([1, 1, 2])))
    by = _mm(rng, 2, 15)
    return [rng.choice(["lengthen", "shorten"]), f"level={','.join(some) or 'none'}", f"by={by}"]


def _marked(pattern: PatternSet, rng: random.Random) -> list[str]:
    marks = sorted(
        f"{name}.{mark.name}"
        for name, piece in pattern.pieces.items()
        for mark in (*piece.at(pattern.base).landmarks, *piece.at(pattern.base).drills)
    )
    by = rng.choice([-1, 1]) * rng.uniform(0.5, 9)
    return ["move-mark", f"mark={rng.choice(marks)}", f"by={by:.1f}mm"]


def _drawn(pattern: PatternSet, rng: random.Random) -> list[str]:
    edge = _line(pattern, rng, upright=rng.random() < 0.5)
    chord = rng.uniform(-6, 6)
    return ["draw-edge", f"edge={edge}", f"through=50%:{chord:.1f}mm"]


def _eased(pattern: PatternSet, rng: random.Random) -> list[str]:
    zones = [f"{b.name}.{z.name}" for b in pattern.relations.bands.values() for z in b.zones]
    known = sorted([*pattern.relations.seams, *zones]) or ["none"]
    return ["ease", f"seam={rng.choice(known)}", f"to={_mm(rng, 0, 6)}"]


def _trued(pattern: PatternSet, rng: random.Random) -> list[str]:
    return ["true", f"edge={_line(pattern, rng, upright=False)}"]


def _fuller(pattern: PatternSet, rng: random.Random) -> list[str]:
    name = rng.choice(sorted(pattern.pieces))
    first, second = rng.sample([edge.name for edge in pattern.sized(name, pattern.base).edges], k=2)
    word = rng.choice(["spread", "widen"])
    said = [word, f"piece={name}", f"from={first}", f"to={second}", f"by={_mm(rng, 3, 20)}"]
    return [*said, "gather=true"] if rng.random() < 0.5 else said


def _darted(pattern: PatternSet, rng: random.Random) -> list[str]:
    base = pattern.base
    darts = sorted((n, d.name) for n, p in pattern.pieces.items() for d in p.at(base).darts)
    piece, dart = rng.choice(darts)
    said = f"dart={piece}.{dart}"
    word = rng.choice(["widen-dart", "narrow-dart", "move-dart", "divide-dart", "swing-dart"])
    if word == "divide-dart":
        return [word, said, f"apart={_mm(rng, 35, 60)}"]
    if word == "swing-dart":
        into = rng.choice([edge.name for edge in pattern.sized(piece, base).edges])
        return [word, said, f"into={into}", f"at={_mm(rng, 60, 250)}", "share=40%"]
    return [word, said, f"by={_mm(rng, 1, 6)}"]


def _opened(pattern: PatternSet, rng: random.Random) -> list[str]:
    name = rng.choice(sorted(pattern.relations.openings))
    return ["open", f"opening={name}", f"along={rng.uniform(-6, 6):.1f}mm"]


def edit_of(words: list[str]) -> SizedEdit:
    """The edit of some words."""
    from propagate.io.edits_toml import edit_of_words

    return edit_of_words(words[0], words[1:]).edit


# ---------------------------------------------------------------------------------- judging


def meant_mm(ease: EaseSaid, lead: float) -> tuple[float, float]:
    """The least and the most by which a follower is to be longer than a lead, mm."""
    if not isinstance(ease, Ease):
        return ease, ease
    if ease.share is not None:
        return ease.share * lead, ease.share * lead
    if ease.between is not None:
        return ease.between
    if ease.sizes:
        return meant_mm(ease.sizes[0][1], lead)
    parts = [meant_mm(one, 0.0) for _, one in ease.zones]  # of the demo sets: amounts alone
    return sum(low for low, _ in parts), sum(high for _, high in parts)


def gaps(pattern: PatternSet) -> dict[str, float]:
    """By how much each seam, and each zone of a band, is off what it asks for, mm."""
    base, found = pattern.base, {}
    for seam in pattern.relations.seams.values():
        if not seam.mirror:
            lead = measure.run_length(pattern, base, seam.lead)
            follow = measure.run_length(pattern, base, seam.follow)
            low, high = meant_mm(seam.ease, lead)
            found[seam.name] = follow - lead - min(max(follow - lead, low), high)
    for band in pattern.relations.bands.values():
        strip = pattern.pieces[band.piece].at(base)
        for zone in band.zones:
            if zone.run:
                own = abs(
                    measure.along(strip, band.sewn, zone.end)
                    - measure.along(strip, band.sewn, zone.begin)
                )
                run = measure.run_length(pattern, base, zone.run)
                low, high = meant_mm(zone.ease, own)
                found[f"{band.name} {zone.name}"] = run - own - min(max(run - own, low), high)
    return found


def alike(one: PatternSet, other: PatternSet) -> bool:
    """Whether every piece of two sets is the same, digit for digit."""
    return all(one.sized(n, one.base) == other.sized(n, one.base) for n in one.pieces)


def apart_mm(
    one: PatternSet, other: PatternSet, *, corners: bool = False, but: Collection[str] = ()
) -> tuple[float, str]:
    """How far any edge, or any corner, lies from its like, mm, and where; but for some pieces."""
    base, worst = one.base, (0.0, "")
    for name in sorted(set(one.pieces) - set(but)):
        for edge in one.sized(name, base).edges:
            a, b = edge.points, other.sized(name, base).edge(edge.name).points
            if a.shape == b.shape and a.tobytes() == b.tobytes():
                continue
            if corners:
                off = float(np.hypot(*(a[[0, -1]] - b[[0, -1]]).T).max())
            else:
                off = measure.farthest_apart(a, b)
            worst = max(worst, (off, f"{name}.{edge.name}"))
    return worst


def wrong_with(
    old: PatternSet,
    result: Result,
    words: list[str],
    first: PatternSet,
    *,
    follower: bool = False,
) -> list[str]:
    """What does not hold after an edit, in words.

    The set was drawn as `first`; `follower`: an edit before drew a piece that follows another.
    """
    new, found = result.pattern, []
    reached = {row.piece for row in result.record.pieces}
    for name in old.pieces:
        was, now = old.sized(name, old.base), new.sized(name, old.base)
        if name not in reached and now is not was:
            found.append(f"{name} was not reached and is another")
        outline = measure.outline(now)
        if now is not was and not shapely.LinearRing(outline).is_simple:
            found.append(f"{name} crosses itself")
        if now is not was and result.sews and measure.signed_area(outline) <= 0.0:
            found.append(f"{name} is turned inside out")
    was_off, now_off, told = gaps(old), gaps(new), not result.sews
    seams = old.relations.seams
    for name, off in now_off.items():
        if abs(off) <= max(abs(was_off.get(name, 0.0)), 0.05) + 0.01:
            continue
        walked = name in seams and (seams[name].check or seams[name].fixed)
        walked |= _edits_follower(old, result)  # told by the walk alone
        warned = any(name.split()[0] in notice.where for notice in result.record.warnings)
        within = seams[name].tolerance if name in seams else 1.5
        if not told and not ((walked or warned) and abs(off) <= within):
            found.append(f"{name} is off by {off:+.3f} mm, was {was_off.get(name, 0.0):+.3f}")
    if words[0] != "open":
        for opening in old.relations.openings.values():
            lengths = [
                measure.polyline_length(
                    measure.points_of(p.sized(opening.piece, p.base), opening.edge)
                )
                for p in (old, new)
            ]
            edited = f"edge={opening.piece}.{opening.edge}" in words
            if abs(lengths[1] - lengths[0]) > 0.01 and not edited and not told:
                found.append(f"opening {opening.name} {lengths[0]:.3f} became {lengths[1]:.3f}")
    # Settling takes an edited follower back.
    if not (told or follower or _edits_follower(old, result)) and _stays_matched(first, new):
        off, where = apart_mm(new, settle(new).pattern)
        if off:
            found.append(f"settled again {where} goes {off:.5f} mm further")
    return found


def wrong_on_disk(result: Result) -> list[str]:
    """What a result read back from disk is not."""
    with tempfile.TemporaryDirectory(prefix="random_edit_") as home:
        propagate.save(result, Path(home) / "set")
        again = propagate.load_result(Path(home) / "set").pattern
    same = alike(result.pattern, again) and again.relations == result.pattern.relations
    return [] if same and again.info == result.pattern.info else ["it reads back otherwise"]


def wrong_undone(old: PatternSet, result: Result, words: list[str]) -> list[str]:
    """Where an edit and its opposite do not lead back; outside of what is trued over.

    What is cut off is drawn on straight again, whatever it was, so pieces have to grow first.
    Followers move as little as they can, each time from where they are: there and back leads
    them near to where they were.
    """
    if words[0] not in INVERSE or not result.sews or _edits_follower(old, result):
        return []
    drawn = _drawn_by_edit(result)
    grown = [
        measure.polygon(result.pattern.sized(n, old.base)).area
        >= measure.polygon(old.sized(n, old.base)).area
        for n in drawn
    ]
    if not all(grown):
        return []
    back = [INVERSE[words[0]], *words[1:]]
    if words[0] == "move-mark":
        back = [w.replace("by=", "by=-").replace("by=--", "by=") for w in back]
    try:
        undone = propagate.run(result.pattern, edit_of(back), corners="left")
    except PropagateError:
        return []  # another place has no room for it now: that is told
    # What is trued over, at a level or in a taper, is smoothed twice: there corners alone go back.
    corners = words[0] in ("lengthen", "shorten") or any(w.startswith("at=") for w in words)
    smoothed = set()
    if words[0] in ("lengthen", "shorten"):
        smoothed = _beside_levels(old, words[1].removeprefix("level=").split(","))
    matched = {
        span.piece
        for seam in old.relations.seams.values()
        if not (seam.check or seam.mirror)
        for span in seam.follow
    }
    leads = drawn - matched
    found = []
    for but, most in ((smoothed | (set(old.pieces) - leads), BACK_MM), (smoothed | leads, NEAR_MM)):
        off, where = apart_mm(old, undone.pattern, corners=corners, but=but)
        if off > most:
            found.append(f"undone {where} is {off:.3f} mm off")
    return found


def _drawn_by_edit(result: Result) -> set[str]:
    """The pieces that the edit itself drew, those of an assembly for it."""
    changes, assemblies = result.record.changes, result.pattern.relations.assemblies
    names = {c.id.replace("/", ".").partition(".")[0] for c in changes if c.cause == "edit"}
    parts = {
        piece
        for name in names & set(assemblies)
        for piece in (assemblies[name].lead, *(part.piece for part in assemblies[name].parts))
    }
    return (names | parts) & set(result.pattern.pieces)


def _edits_follower(pattern: PatternSet, result: Result) -> bool:
    """Whether an edit drew a piece that follows one that it did not: its lead takes it back."""
    drawn = _drawn_by_edit(result)
    return any(
        {span.piece for span in seam.follow} & drawn
        and not {span.piece for span in seam.lead} <= drawn - {span.piece for span in seam.follow}
        for seam in pattern.relations.seams.values()
        if not (seam.check or seam.mirror)
    )


def _beside_levels(pattern: PatternSet, levels: list[str]) -> set[str]:
    """Pieces with a corner within what is smoothed when they are lengthened at some levels."""
    found = set()
    for name, piece in pattern.pieces.items():
        sized = piece.at(pattern.base)
        grain = np.subtract(sized.grain.end, sized.grain.start)
        grain = grain / np.linalg.norm(grain)
        heights = [edge.points[0] @ grain for edge in sized.edges]
        at = [np.asarray(sized.levels[level]) @ grain for level in levels if level in sized.levels]
        if not at or min(abs(h - a) for h in heights for a in at) < 60.0:
            found.add(name)  # without a level it follows such a piece
    return found


def _stays_matched(old: PatternSet, new: PatternSet) -> bool:
    """Whether no seam is further off than it was, and than a seam may be."""
    was = gaps(old)
    return all(
        abs(off) <= max(abs(was.get(name, 0.0)), 0.05) + 0.01 for name, off in gaps(new).items()
    )


def wrong_in_order(old: PatternSet, first: list[str], second: list[str]) -> list[str]:
    """Whether two edits that reach no piece in common come out otherwise in the other order."""
    one, two = edit_of(first), edit_of(second)
    alone = [propagate.run(old, edit, corners="left") for edit in (one, two)]
    reached = [{row.piece for row in result.record.pieces} for result in alone]
    if reached[0] & reached[1] or not all(reached):
        return []
    if all(result.pattern.relations != old.relations for result in alone):
        return []  # both say what a seam's ease is, say: the last one's word holds
    if not all(_stays_matched(old, result.pattern) for result in alone):
        return []  # a follower that was edited alone: the next edit of its lead takes it back
    ends = []
    for order in ((one, two), (two, one)):
        pattern = old
        for edit in order:
            pattern = propagate.run(pattern, edit, corners="left").pattern
        ends.append(pattern)
    off, where = apart_mm(*ends)
    return [f"in the other order {where} is {off:.6f} mm off"] if off > SAME_MM else []


# ------------------------------------------------------------------------------ trying it


def tried(name: str, seed: int, *, disk: bool, counts: Counter[str]) -> list[str]:
    """Try one random edit, or two; returns what does not hold, with the words that do it."""
    rng = random.Random(f"{name} {seed}")
    old = sound(name)
    words = drawn_lot(old, rng)
    try:
        edit = edit_of(words)
        result = propagate.run(old, edit, corners="left")
        result.record  # noqa: B018  its figures are part of it
    except PropagateError:
        counts["refused"] += 1
        return []
    counts[words[0]] += 1
    wrong = wrong_with(old, result, words, old)
    if disk:
        wrong += wrong_on_disk(result)
    wrong += wrong_undone(old, result, words)
    second = drawn_lot(old, rng)
    try:
        wrong += wrong_in_order(old, words, second)
        if result.sews:
            after = propagate.run(result.pattern, edit_of(second), corners="left")
            counts["pairs"] += 1
            wrong += [
                f"then {' '.join(second)}: {text}"
                for text in wrong_with(
                    result.pattern, after, second, old, follower=_edits_follower(old, result)
                )
            ]
    except PropagateError:
        counts["pairs refused"] += 1
    return [f"{name} {seed}: {' '.join(words)}: {text}" for text in wrong]


def main() -> None:
    """Try random edits for some minutes of processor time, and tell what does not hold."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--set", action="append", default=[])
    asked = parser.parse_args()
    counts: Counter[str] = Counter()
    until = time.process_time() + 60.0 * asked.minutes
    seed = asked.seed
    while time.process_time() < until:
        for name in asked.set or SETS:
            try:
                wrong = tried(name, seed, disk=seed % 4 == 0, counts=counts)
            except Exception:
                wrong = [f"{name} {seed}: {traceback.format_exc()}"]
            counts["tried"] += 1
            counts["wrong"] += bool(wrong)
            for text in wrong:
                print(text, flush=True)
        seed += 1
    print(json.dumps({"next seed": seed, **counts}, indent=1))


if __name__ == "__main__":
    main()
