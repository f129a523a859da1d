"""Revise every edge of every demo set by 0.1 to 2 mm: ``python -m tests.bench.tiny [WORD ...]``.

Words choose sets, kinds ("bump" ...), amounts in mm and what is sent ("base", "all").  Prints
what was refused and with which words, what does not hold on a result, exceptions, and the
slowest revision.  Ends with 1 when anything was found.
"""

from __future__ import annotations

import sys
import time
import traceback
from concurrent.futures import ProcessPoolExecutor

from propagate.pattern.patternset import PatternSet
from tests.revise.tiny_edits import (
    AMOUNTS,
    KINDS,
    Outcome,
    Tiny,
    every_edit,
    outcome_of,
    sets,
)
from tests.shared import demo as load

_LOADED: dict[str, PatternSet] = {}


def _judge(work: tuple[str, Tiny]) -> tuple[Outcome, float]:
    demo, edit = work
    if demo not in _LOADED:
        _LOADED[demo] = load(demo)
    began = time.process_time()
    try:
        outcome = outcome_of(_LOADED[demo], edit)
    except Exception:  # the sweep goes on: what was raised is what it is for
        outcome = Outcome(edit, "", (traceback.format_exc(),))
    return outcome, time.process_time() - began


def main(names: list[str]) -> int:
    """Print the findings."""
    bad, slowest = 0, (0.0, "")
    kinds = tuple(n for n in names if n in KINDS) or KINDS
    sizes = tuple(n for n in names if n in ("base", "all")) or ("base", "all")
    amounts = tuple(float(n) for n in names if n[0].isdigit()) or AMOUNTS
    with ProcessPoolExecutor(2) as pool:
        for demo in [n for n in sets() if n in names] or sets():
            work = [(demo, edit) for edit in every_edit(load(demo), amounts, kinds, sizes)]
            refused = faulty = 0
            for outcome, seconds in pool.map(_judge, work, chunksize=8):
                slowest = max(slowest, (seconds, f"{demo}: {outcome.edit}"))
                if outcome.refused:
                    refused += 1
                    print(f"{demo}: {outcome.edit}: REFUSED {outcome.refused}")
                if outcome.faults:
                    faulty += 1
                    print(f"{demo}: {outcome.edit}: {len(outcome.faults)} faults")
                    print(*(f"    {fault}" for fault in outcome.faults[:6]), sep="\n", flush=True)
            print(f"{demo}: {len(work)} revisions, {refused} refused, {faulty} with faults")
            bad += refused + faulty
    print(f"slowest: {slowest[0]:.2f} s of processor, {slowest[1]}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
