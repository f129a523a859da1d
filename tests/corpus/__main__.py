"""Prove that a step which only moves code changes no byte of what the program puts out.

``python -m tests.corpus write DIR [--quick]`` does a fixed list of jobs and keeps what each of
them said and wrote; ``python -m tests.corpus compare DIR_A DIR_B`` compares two such folders,
made before and after the step, and ends with 1 when they differ.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from tests.corpus.compare import compare
from tests.corpus.write import write


def main() -> int:
    """Return the exit status."""
    parser = argparse.ArgumentParser(prog="python -m tests.corpus", description=__doc__)
    verbs = parser.add_subparsers(dest="verb", required=True)
    writing = verbs.add_parser("write", help="do the jobs, keep what they said and wrote")
    writing.add_argument("folder", type=Path)
    writing.add_argument("--quick", action="store_true", help="about an eighth of the jobs")
    writing.add_argument("--only", default="", metavar="TEXT", help="jobs with TEXT in their name")
    comparing = verbs.add_parser("compare", help="compare two such folders")
    comparing.add_argument("folders", type=Path, nargs=2)
    comparing.add_argument("--shown", type=int, default=5, help="how many differences to show")
    asked = parser.parse_args()
    if asked.verb == "compare":
        return compare(*asked.folders, shown=asked.shown)
    if asked.folder.exists() and any(asked.folder.iterdir()):
        parser.error(f"'{asked.folder}' holds something already; name a new folder")
    done = write(asked.folder, quick=asked.quick, only=asked.only)
    print(f"{done} jobs in {time.process_time():.0f} s of the processor", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
