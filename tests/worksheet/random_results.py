"""Blends, edits and revisions of any demo set, drawn by lot, whose sheets are judged.

``python -m tests.worksheet.random_results 200 --seed 7`` draws the new outlines of so many from
what their sheets print, counts them, and names those that come out too far off.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from collections.abc import Iterator

import propagate
from propagate import PropagateError, Result
from propagate.engine.revise import revise
from propagate.pattern.model import Piece
from tests.edits.random_edits import SETS, drawn_lot, edit_of, sound
from tests.revise.tiny_edits import KINDS, Tiny, drawn
from tests.shared import blend_edit, demo

BLENDS = (
    *({}, {"follow": "length"}, {"top": "traced"}, {"rise": "lower"}),
    *({"rise": 4.0}, {"pocket": "lower"}, {"hold": 60.0}),
)


def _blend(name: str, rng: random.Random) -> tuple[str, Result]:
    pattern = demo(name)
    plan = pattern.relations.blend
    if plan is None:
        levels = sorted({n for p in pattern.pieces.values() for n in p.at(pattern.base).levels})
        sizes = {level: rng.choice(pattern.sizes) for level in levels[:2]}
        return f"{sizes}", propagate.run(pattern, blend_edit(pattern, sizes))
    upper, lower = rng.sample(pattern.sizes, 2)
    sizes = {plan.upper: upper, plan.lower: lower}
    if plan.leg is not None and rng.random() < 0.3:
        sizes[plan.leg.level] = rng.choice(pattern.sizes)
    options = {"follow": "shape", **rng.choice(BLENDS)}
    return f"{sizes} {options}", propagate.run(pattern, propagate.Blend(sizes, **options))


def _edit(name: str, rng: random.Random) -> tuple[str, Result]:
    words = drawn_lot(sound(name), rng)
    return " ".join(words), propagate.run(sound(name), edit_of(words))


def _revision(name: str, rng: random.Random) -> tuple[str, Result]:
    pattern = sound(name)
    piece = rng.choice(sorted(pattern.pieces))
    sized = pattern.sized(piece, pattern.base)
    by = rng.choice([-1, 1]) * round(rng.uniform(0.5, 9.0), 1)
    sent = Tiny(piece, rng.choice(sized.edge_names), rng.choice(KINDS), by)
    found = revise(pattern, {piece: Piece(piece, {pattern.base: drawn(sized, sent)})})
    if not found.records:
        raise propagate.EditError("nothing changed")
    return str(sent), Result(found.pattern, found.records[pattern.base])


WAYS = (_blend, _edit, _revision)


def random_results(count: int, seed: int) -> Iterator[tuple[str, Result]]:
    """Results with a change, by turns of each set in each way, and how each came about."""
    for number in range(count):
        name = SETS[(number + seed) % len(SETS)]
        for turn in range(30):  # many a one is refused, or changes nothing
            rng = random.Random(f"{seed} {number} {turn}")
            way = WAYS[(number // len(SETS) + turn // 10) % len(WAYS)]
            try:
                said, result = way(name, rng)
            except PropagateError:
                continue
            if any(e.status != "same" for p in result.record.pieces for e in p.edges):
                yield f"{name} {way.__name__[1:]}: {said}", result
                break


def main() -> int:
    """Judge so many results; ends with 1 when one is off."""
    from tests.worksheet.test_tables import UNITS_OF, gaps_of

    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("count", type=int)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    counts: Counter[str] = Counter()
    for said, result in random_results(asked.count, asked.seed):
        counts[said.split()[1]] += 1
        for unit in UNITS_OF:
            for where, far, most in gaps_of(result, unit):
                counts["lines"] += 1
                if far > most:
                    counts["off"] += 1
                    print(f"{said}: {where}: {far:.3f} mm, at most {most:.3f}", flush=True)
    print(dict(counts))
    return 1 if counts["off"] else 0


if __name__ == "__main__":
    sys.exit(main())
