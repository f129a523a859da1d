"""Files that were made to take all there is: each ends in time and within memory."""

from __future__ import annotations

import resource
import subprocess
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from tests.examples import part_of
from tests.io.pdf.drafts import plain_pdf

SECONDS = 20  # of processor time, the start of the program in it
MEMORY = 1_000_000_000
LINE = "100 100 m 400 300 l S "
TRY = """
import sys
from pathlib import Path
from propagate.errors import PropagateError
from propagate.io.options import ReadOptions
from propagate.io.pdf.read import read_sheet_of_pdf
from propagate.io.report import ReportNotes
try:
    sheet = read_sheet_of_pdf([Path(sys.argv[1])], ReadOptions(), ReportNotes())
except PropagateError as error:
    print("refused", error)
else:
    print("read", len(sheet.lines), "lines")
"""


def ended(file: Path) -> str:
    """What a process that is held to limits says of a file."""

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))

    made = subprocess.run(
        [sys.executable, "-c", TRY, str(file)],
        capture_output=True,
        text=True,
        preexec_fn=limit,
        check=False,
    )
    assert made.returncode == 0, made.stderr[-800:]
    assert made.stderr == ""
    return made.stdout.strip()


def with_forms(file: Path, make: Callable[[pikepdf.Pdf], None]) -> Path:
    plain_pdf("/F Do", file, box=(0, 0, 600, 840))
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        make(pdf)
        pdf.save(file)
    return file


def form(pdf: pikepdf.Pdf, content: bytes, **inner: pikepdf.Object) -> pikepdf.Object:
    return pdf.make_stream(
        content,
        Dictionary(
            Type=Name.XObject,
            Subtype=Name.Form,
            BBox=Array([0, 0, 600, 840]),
            Resources=Dictionary(XObject=Dictionary({f"/{k}": v for k, v in inner.items()})),
        ),
    )


def test_a_stream_that_unpacks_to_a_gigabyte(tmp_path: Path) -> None:
    packer = zlib.compressobj(1)
    packed = packer.compress(LINE.encode())
    packed += b"".join(packer.compress(b" " * 1_000_000) for _ in range(1_000)) + packer.flush()
    file = plain_pdf("", tmp_path / "bomb.pdf")
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        pdf.pages[0].Contents.write(packed, filter=Name.FlateDecode)
        pdf.save(file, recompress_flate=False)
    assert file.stat().st_size < 10_000_000
    assert ended(file).startswith(("refused", "read 1"))


def test_forms_that_multiply(tmp_path: Path) -> None:
    def make(pdf: pikepdf.Pdf) -> None:
        inner = form(pdf, LINE.encode() * 10)
        for _ in range(8):
            inner = form(pdf, b"/F Do " * 10, F=inner)
        pdf.pages[0].Resources = Dictionary(XObject=Dictionary(F=inner))

    assert "expected a sewing pattern" in ended(with_forms(tmp_path / "forms.pdf", make))


CONTENTS = {
    "lines": "0 0 m 1 1 l S\n" * 149_000,
    "strokes in one place": "".join(
        f"{100 + i % 97 / 10} {100 + i % 89 / 10} m 5 0 l S\n" for i in range(100_000)
    ),
    "a path": "0 0 m " + "5 5 l 9 3 l " * 400_000 + "S",
    "clips": ("0 0 m " + "100 300 l 300 100 l " * 400 + "h W n\n") * 400 + LINE,
    "states": "q " * 900_000 + LINE,
    "nested arrays": "[" * 100_000 + LINE,
    "a long text": "BT /F 9 Tf (" + "x" * 3_000_000 + ") Tj ET " + LINE,
    "squares and lengths": "".join(f"{i % 500} {i % 700} 60 60 re S\n" for i in range(20_000)),
    "narrow areas": "".join(f"{i % 500} {i % 700} 9 1 re f\n" for i in range(60_000)),
}


@pytest.mark.parametrize("name", part_of(sorted(CONTENTS), 3))
def test_a_page(name: str, tmp_path: Path) -> None:
    file = plain_pdf(CONTENTS[name], tmp_path / "page.pdf", box=(0, 0, 600, 840))
    assert ended(file).startswith(("refused", "read"))


def test_pages_without_end(tmp_path: Path) -> None:
    """A tree of pages that holds itself, and the same page a thousand times."""
    file = plain_pdf(LINE, tmp_path / "tree.pdf")
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        pdf.Root.Pages.Kids.append(pdf.Root.Pages)
        pdf.Root.Pages.Count = 1_000_000
        pdf.save(file)
    assert ended(file).startswith(("refused", "read"))
    with pikepdf.open(plain_pdf(LINE * 100, tmp_path / "one.pdf")) as one, pikepdf.new() as many:
        for _ in range(300):
            many.pages.extend(one.pages)
        many.save(tmp_path / "many.pdf")
    assert ended(tmp_path / "many.pdf").startswith(("refused", "read"))
