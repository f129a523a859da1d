"""Break off every kind of write everywhere, and print what came of it.

``python -m tests.faults [SEED]`` takes a minute or two; it ends with 1 at the first fault.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from tests.faults import trials
from tests.faults.writes import Kind, cases


def main() -> int:
    """Run all trials and print a table of figures."""
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else time.time_ns() % 100_000
    print(f"seed {seed}")
    all_trials: dict[str, Callable[[Kind, bool], trials.Seen]] = {
        "killed before each operation": trials.killed_everywhere,
        "no room at each operation": trials.full_everywhere,
        "a full disk": trials.full_disk,
        "interrupted at random": lambda k, r: trials.interrupted(k, r, 12, seed),
        "two writers at once": lambda k, r: trials.two_at_once(k, r, 6),
    }
    rows = []
    for name, trial in all_trials.items():
        for kind, replace in cases():
            began = time.perf_counter()
            seen = trial(kind, replace)
            figures = ", ".join(f"{count} {what}" for what, count in seen.items())
            seconds = time.perf_counter() - began
            rows.append((name, kind.name, "replace" if replace else "new", figures, seconds))
            print(".", end="", flush=True)
    others = trials.living_is_left_alone()["others meanwhile"]
    rows.append(("a long write", "one file", "replace", f"{others} other writes meanwhile", 0.0))
    print(f"\n\n{'trial':<30}{'write':<15}{'place':<9}{'seconds':>7}  seen")
    for name, write, place, figures, seconds in rows:
        print(f"{name:<30}{write:<15}{place:<9}{seconds:>7.1f}  {figures}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
