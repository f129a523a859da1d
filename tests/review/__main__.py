"""Say how many of the mistakes are told: ``python -m tests.review [WORD ...]``."""

from __future__ import annotations

import sys

from tests.review.drafts import DRAFTS
from tests.review.judge import DEMOS, demo, is_told, told_about, told_of, words_of, wrongly
from tests.review.mistakes import MISTAKES

MANY = 6
"""Findings that one reads for one mistake."""


def main(words: list[str]) -> None:
    chosen = [m for m in MISTAKES if not words or any(w in f"{m.demo} {m.name}" for w in words)]
    untold, wrong, many = [], [], []
    for mistake in chosen:
        told = told_about(mistake)
        heard, blamed = is_told(mistake, told), wrongly(mistake, told)
        untold += [] if heard else [mistake]
        wrong += [mistake] if blamed else []
        many += [mistake.name] if len(told.findings) > MANY else []
        if heard and not blamed and not words:
            continue
        print(f"{'told' if heard else 'UNTOLD'}: {mistake.demo}: {mistake.name}")
        print(f"    wanted: {mistake.words!r} with {', '.join(map(repr, mistake.names))}")
        for text in told.messages[:8]:
            print(f"    - {text}")
        if len(told.messages) > 8:
            print(f"    ... {len(told.messages)} in all")
        for text in blamed:
            print(f"    WRONG: {text}")
    print(f"{len(chosen) - len(untold)} of {len(chosen)} told, {len(wrong)} wrongly")
    print(f"more than {MANY} findings for one mistake: {'; '.join(many) or 'none'}")
    for name, pattern in [*((d, demo(d)) for d in DEMOS), *DRAFTS.items()]:
        told = told_of(pattern() if callable(pattern) else pattern)
        for text in (*told.problems, *map(words_of, told.findings), *told.walked):
            print(f"NOT SILENT on {name}: {text}")


if __name__ == "__main__":
    main(sys.argv[1:])
