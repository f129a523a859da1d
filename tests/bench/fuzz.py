"""Read damaged exports of the demo sets: ``python -m tests.bench.fuzz [SECONDS [SEED]]``.

Every demo set is written as nested DXF, as DXF with a rule file, as SVG and as JSON; one of
the files is damaged and read again, until the time is over.  Anything but a report or an
error of the project is printed with the seed that makes it again, and so is a file that takes
more than 10 seconds; the memory of the process may not pass 2 GB.
"""

from __future__ import annotations

import random
import resource
import signal
import sys
import tempfile
import time
import traceback
from pathlib import Path
from types import FrameType

import propagate
from propagate.demo import demo_names
from propagate.errors import PropagateError
from propagate.io.dxf import WriteOptions, write
from propagate.io.geometry_json import dumps
from propagate.io.svg.options import SvgWriting
from propagate.io.svg.write import svg_texts
from tests.bench.limits import read_any
from tests.io.dxf.test_damage import mutated

SECONDS = 10
_WORDS = (
    b"1e308", b"-1e308", b"nan", b"inf", b"9" * 30, b"-", b'"', b"<", b">", b"&lt;", b"\xff\xfe",
    b"\x00", b"Z", b"M", b"e9", b"{", b"[", b"]", b",", b"rotate(1e9)", b"scale(0)", b"0", b"#1",
    b"* ", b"\r", b"\n", b"\xc3\xa9", b"\x80",
)  # fmt: skip


def damaged(data: bytes, rng: random.Random) -> bytes:
    """Damage a file: as lines, or by words in the middle of it."""
    if rng.random() < 0.5:
        return mutated(data, rng)
    broken = bytearray(data)
    for _ in range(rng.choice([1, 1, 2, 5, 20])):
        at = rng.randrange(len(broken))
        broken[at : at + rng.choice([0, 0, 1, 5, 60])] = rng.choice(_WORDS)
    return bytes(broken)


def _exports(folder: Path) -> list[Path]:
    """Every demo set in every form."""
    found: list[Path] = []
    for name in demo_names():
        pattern = propagate.load(propagate.demo_path(name))
        for kind in ("nested", "rules"):
            path = folder / f"{name}_{kind}" / "style.dxf"
            path.parent.mkdir()
            write(pattern, path, WriteOptions(kind=kind))  # type: ignore[arg-type]
            found += path.parent.iterdir()
        for file, text in svg_texts(pattern, SvgWriting(), "a.svg").items():
            path = folder / f"{name}_{file}"
            path.write_text(text, encoding="utf-8")
            found.append(path)
        piece = next(iter(pattern.pieces.values()))
        path = folder / f"{name}.json"
        path.write_text(dumps(piece), encoding="utf-8")
        found.append(path)
    return found


def _too_long(_: int, __: FrameType | None) -> None:
    raise TimeoutError(f"more than {SECONDS} s")


def main(arguments: list[str]) -> int:
    """Return how many files ended badly."""
    seconds = float(arguments[0]) if arguments else 60.0
    seed = int(arguments[1]) if len(arguments) > 1 else 1
    resource.setrlimit(resource.RLIMIT_AS, (2_000_000_000, 2_000_000_000))
    signal.signal(signal.SIGPROF, _too_long)
    counts = {"read": 0, "refused": 0, "bad": 0}
    with tempfile.TemporaryDirectory() as folder:
        files = _exports(Path(folder))
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            rng = random.Random(seed)
            file = rng.choice(files)
            sound = file.read_bytes()
            file.write_bytes(damaged(sound, rng))
            signal.setitimer(signal.ITIMER_PROF, SECONDS)  # of the processor
            try:
                read_any(file.with_suffix(".dxf") if file.suffix == ".rul" else file)
                counts["read"] += 1
            except PropagateError:
                counts["refused"] += 1
            except Exception:
                counts["bad"] += 1
                print(f"seed {seed}, {file.name}\n{traceback.format_exc()[-1200:]}", flush=True)
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0)
                file.write_bytes(sound)
            seed += 1
    print(", ".join(f"{count} {word}" for word, count in counts.items()), f"next seed {seed}")
    return counts["bad"]


if __name__ == "__main__":
    sys.exit(min(main(sys.argv[1:]), 100))
