"""Damaged PDF files: ``python -m tests.fuzz.pdf --count 10000 --seed 1``.

Bytes are flipped, files cut off, objects and references swapped, numbers and words of the pages
changed. Each file goes through the whole reader with 10 s of processor time and 1 GB of
addresses; all but lines that are sound and an error of the project is a find, and so is a process
that does not come back. The exit status is the number of finds.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import math
import random
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name

from propagate.errors import PropagateError
from propagate.io.options import ReadOptions
from propagate.io.pdf.read import read_sheet_of_pdf
from propagate.io.report import ReportNotes
from tests.fuzz.worker import MEMORY, SECONDS, TooLong, raise_too_long, rows_of_workers

__all__ = ["bases", "damaged", "try_file"]

HARD_SECONDS = 30
Damage = Callable[[bytes, random.Random], bytes]
_NUMBERS = (b"0", b"-1", b"1e9", b"99999999999", b"-0.0000001", b"4294967296", b"2.5", b".", b"nan")
_WORDS = b"q Q cm re m l c v y h S s f B n W W* Do BT ET Tf Td Tj TJ BDC BMC EMC gs cs scn".split()


# ------------------------------------------------------------------------------- bases


@cache
def bases() -> tuple[bytes, ...]:
    """A few small files that hold what the reader knows, each as it is and unpacked."""
    found = []
    for make in (_layered, _tiled, _framed):
        for unpacked in (False, True):
            stream = io.BytesIO()
            with make() as pdf:
                pdf.save(stream, qdf=unpacked, deterministic_id=True)
            found.append(stream.getvalue())
    return tuple(found)


def _page(pdf: pikepdf.Pdf, content: str, **keys: Any) -> None:
    values = {f"/{key}": value for key, value in keys.items()}
    box = Array([0, 0, 300, 400])
    page = {"/Type": Name.Page, "/MediaBox": box, "/Contents": pdf.make_stream(content.encode())}
    pdf.pages.append(pikepdf.Page(Dictionary({**page, **values})))


def _font(pdf: pikepdf.Pdf) -> pikepdf.Object:
    table = (
        "1 begincodespacerange <00> <FF> endcodespacerange 1 beginbfrange <20> <7E> <0020> "
        "endbfrange 1 beginbfchar <80> <20AC> endbfchar"
    )
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font,
            Subtype=Name.TrueType,
            BaseFont=Name.Sans,
            FirstChar=32,
            Widths=Array([500] * 95),
            Encoding=Dictionary(Differences=Array([65, Name.A, Name.eacute])),
            ToUnicode=pdf.make_stream(table.encode()),
        )
    )


def _layered() -> pikepdf.Pdf:
    pdf = pikepdf.new()
    groups = [
        pdf.make_indirect(Dictionary(Type=Name.OCG, Name=pikepdf.String(f"size {n}")))
        for n in (36, 38)
    ]
    pdf.Root.OCProperties = Dictionary(OCGs=Array(groups), D=Dictionary(OFF=Array(groups[:1])))
    known = Dictionary(A=groups[0], B=Dictionary(Type=Name.OCMD, OCGs=Array(groups)))
    ink = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0] * 3), C1=Array([1, 0, 0]))
    ink.N = 1
    form = pdf.make_stream(
        b"0 0 1 RG 10 10 m 60 90 120 20 150 10 c h S",
        Dictionary(
            Type=Name.XObject,
            Subtype=Name.Form,
            BBox=Array([0, 0, 200, 200]),
            Matrix=Array([1, 0, 0, 1, 5, 5]),
            OC=groups[1],
        ),
    )
    _page(
        pdf,
        "q 0 0 250 350 re W n [6 3] 0 d 0.5 w /OC /A BDC 10 10 m 200 300 l 250 20 l h S EMC "
        "/OC /B BDC /S CS 0.5 SCN 20 20 100 100 re S EMC /F Do Q "
        "BT /T 12 Tf 1 0 0 1 30 60 Tm (5.29 cm) Tj [(Si) -20 (ze) 300 (36)] TJ ET "
        "/G gs 5 5 m 9 9 l S "
        "BI /W 2 /H 2 /BPC 8 /CS /G ID abcd EI 1 0 0 1 5 5 cm 0 1 0 rg 5 5 40 1 re f",
        Resources=Dictionary(
            Properties=known,
            XObject=Dictionary(F=form),
            Font=Dictionary(T=_font(pdf)),
            ExtGState=Dictionary(G=Dictionary(LW=2, CA=0.5, D=Array([Array([1, 2]), 0]))),
            ColorSpace=Dictionary(S=Array([Name.Separation, Name.Red, Name.DeviceRGB, ink])),
        ),
        Rotate=90,
        UserUnit=1.5,
    )
    return pdf


def _tiled() -> pikepdf.Pdf:
    """Two by three pages whose lines run on, with names."""
    pdf = pikepdf.new()
    font = _font(pdf)
    for row in range(3):
        for column in range(2):
            x, y = 20 - 232 * column, 20 - 332 * (2 - row)
            lines = " ".join(
                f"{30 + 9 * i} 40 m {420 - 7 * i} {900 - 5 * i} l {60 + i} {500 + i} l S"
                for i in range(5)
            )
            _page(
                pdf,
                f"20 20 260 360 re S BT /T 20 Tf 40 40 Td ({'AB'[column]}{row + 1}) Tj ET "
                f"q 20 20 260 360 re W n 1 0 0 1 {x} {y} cm {lines} Q",
                Resources=Dictionary(Font=Dictionary(T=font)),
            )
    return pdf


def _framed() -> pikepdf.Pdf:
    """Dashes as single strokes, narrow areas, a clip that is no box."""
    pdf = pikepdf.new()
    dashes = " ".join(
        f"{20 + 9 * i} {30 + 5 * i} m {26 + 9 * i} {33.3 + 5 * i} l S" for i in range(20)
    )
    strips = " ".join(f"{20 + 9 * i} 300 6 0.8 re f" for i in range(20))
    _page(pdf, f"{dashes} {strips} 0 0 m 300 0 l 150 390 l h W n 10 10 250 200 re S")
    _page(pdf, "1 0 0 RG 20 20 m 100 100 l S " * 8)
    return pdf


# ------------------------------------------------------------------------------ damages


def _flip(data: bytes, lot: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(lot.choice((1, 1, 3, 20))):
        changed[lot.randrange(len(changed))] = lot.randrange(256)
    return bytes(changed)


def _cut_off(data: bytes, lot: random.Random) -> bytes:
    return data[: lot.randrange(len(data))]


def _move(data: bytes, lot: random.Random) -> bytes:
    """Take a part out, say it twice, or put it elsewhere."""
    a = lot.randrange(len(data))
    part = data[a : a + lot.choice((1, 10, 200))]
    rest = data[:a] + data[a + len(part) :]
    at = lot.randrange(len(rest) + 1)
    return lot.choice((rest, rest[:at] + part + rest[at:], data[:a] + part * 3 + data[a:]))


def _swap(pattern: bytes) -> Damage:
    def swap(data: bytes, lot: random.Random) -> bytes:
        found = list(re.finditer(pattern, data, re.DOTALL))
        if len(found) < 2:
            return _flip(data, lot)
        a, b = sorted(lot.sample(found, 2), key=lambda m: m.start())
        return data[: a.start()] + b[0] + data[a.end() : b.start()] + a[0] + data[b.end() :]

    return swap


def _put(pattern: bytes, words: Sequence[bytes]) -> Damage:
    def put(data: bytes, lot: random.Random) -> bytes:
        for _ in range(lot.choice((1, 1, 4))):
            found = list(re.finditer(pattern, data))
            if found:
                match = lot.choice(found)
                data = data[: match.start()] + lot.choice(words) + data[match.end() :]
        return data

    return put


_DAMAGES: tuple[Damage, ...] = (
    _flip,
    _cut_off,
    _move,
    _swap(rb"(?<=obj\n).*?(?=endobj)"),
    _swap(rb"\d+ 0 R"),
    _swap(rb"/[A-Z]\w+"),
    _put(rb"(?<=[\s\[])-?\d*\.?\d+(?=[\s\]])", _NUMBERS),
    _put(rb"(?<=\s)[A-Za-z*]{1,3}(?=\s)", _WORDS),
)


def damaged(seed: int) -> bytes:
    """A file with one to three damages."""
    lot = random.Random(seed)
    data = lot.choice(bases())
    for _ in range(lot.choice((1, 1, 2, 3))):
        data = lot.choice(_DAMAGES)(data, lot) or b"%PDF-"
    return data


# ------------------------------------------------------------------------------- trials


def try_file(data: bytes, folder: Path) -> str:
    """Read a file: "done" or "refused"; lines that are not sound are an assertion."""
    file = folder / "damaged.pdf"
    file.write_bytes(data)
    try:
        sheet = read_sheet_of_pdf([file], ReadOptions(), ReportNotes())
    except PropagateError as error:
        if not str(error).strip():
            raise AssertionError("an error without a word") from error
        return "refused"
    assert sheet.lines
    for line in sheet.lines:
        assert all(math.isfinite(v) for point in line.chain.points for v in point)
        assert all(0 <= part <= 1 for part in line.look.colour) and line.look.width >= 0
    for text in sheet.texts:
        assert text.text and all(map(math.isfinite, (*text.at, text.height, text.width)))
    return "done"


def _work(first: int, count: int) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    signal.signal(signal.SIGPROF, raise_too_long)
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    with tempfile.TemporaryDirectory() as name:
        for seed in range(first, first + count):
            start = time.process_time()
            resource.setrlimit(resource.RLIMIT_CPU, (int(start) + HARD_SECONDS, hard))
            signal.setitimer(signal.ITIMER_PROF, SECONDS)
            try:
                how = try_file(damaged(seed), Path(name))
            except (Exception, TooLong) as error:
                how = "".join(traceback.format_exception(error))[-1500:]
            signal.setitimer(signal.ITIMER_PROF, 0)
            row = {"seed": seed, "how": how, "seconds": time.process_time() - start}
            print(json.dumps(row), flush=True)


def main(arguments: list[str]) -> int:
    """Try files; returns how many ended badly."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.pdf", description=__doc__)
    parser.add_argument("--count", type=int, default=1_000)
    parser.add_argument("--seed", type=int, default=1, help="the first one")
    parser.add_argument("--work", action="store_true", help=argparse.SUPPRESS)
    chosen = parser.parse_args(arguments)
    if chosen.work:
        _work(chosen.seed, chosen.count)
        return 0
    ended: Counter[str] = Counter()
    slowest = (0.0, 0)
    with contextlib.suppress(KeyboardInterrupt):
        last = chosen.seed + chosen.count
        for row in rows_of_workers(
            "tests.fuzz.pdf",
            chosen.seed,
            last,
            lambda seed: ["--seed", str(seed), "--count", str(last - seed)],
        ):
            if "ended" in row:
                row |= {"how": f"the process was ended ({row['ended']})", "seconds": 0.0}
            how = row["how"] if row["how"] in ("done", "refused") else "found"
            if how == "found":
                print(f"seed {row['seed']}: {row['how']}", flush=True)
            ended[how] += 1
            slowest = max(slowest, (row["seconds"], row["seed"]))
    said = ", ".join(f"{ended[how]} {how}" for how in ("done", "refused", "found"))
    print(f"{ended.total()} files: {said}; slowest {slowest[0]:.1f} s (seed {slowest[1]})")
    return min(ended["found"], 100)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
