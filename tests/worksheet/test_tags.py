"""What a work sheet tells those who hear it, read by pikepdf and by poppler.

The rules are those of ISO 32000-1, 14.7 and 14.8, from memory.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from propagate.report.units import MILLIMETRES
from tests.shared import main_job
from tests.worksheet.conftest import LEVELS, pdf_of


@pytest.fixture(scope="module", params=LEVELS)
def written(request: pytest.FixtureRequest) -> tuple[bytes, Any]:
    return pdf_of(main_job(request.param), "a4", MILLIMETRES)


def walk(element: Any) -> Iterator[Any]:
    yield element
    for kid in element.get("/K", []):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield from walk(kid)


def test_everything_that_is_written_belongs_to_the_tree_or_is_decoration(
    written: tuple[bytes, Any],
) -> None:
    with pikepdf.open(BytesIO(written[0])) as document:
        root = document.Root.StructTreeRoot
        assert document.Root.MarkInfo.Marked and str(document.Root.Lang) == "en"
        told: dict[tuple[int, int], Any] = {}
        for element in walk(root.K[0]):
            for kid in element.get("/K", []):
                if not isinstance(kid, pikepdf.Dictionary):
                    told[element.Pg.objgen[0], int(kid)] = element
                elif "/MCID" in kid:
                    told[kid.Pg.objgen[0], int(kid.MCID)] = element
        numbers = dict(zip(*[iter(root.ParentTree.Nums)] * 2, strict=True))
        seen = set()
        for page in document.pages:
            back, depth = numbers[int(page.StructParents)], 0
            for operands, operator in pikepdf.parse_content_stream(page):
                if str(operator) in ("BDC", "BMC"):
                    depth += 1
                    kind = str(operands[0])
                    assert kind == "/Artifact" or "/MCID" in operands[1] or depth > 1
                    if str(operator) == "BDC" and "/MCID" in operands[1]:
                        place = page.obj.objgen[0], int(operands[1].MCID)
                        assert told[place].objgen == back[place[1]].objgen
                        assert str(told[place].S) == kind
                        seen.add(place)
                elif str(operator) == "EMC":
                    depth -= 1
                else:
                    assert depth or str(operator) not in ("TJ", "Tj", "S", "f", "f*", "B")
        assert seen == set(told)


def test_tables_are_regular_and_figures_are_told_in_words(written: tuple[bytes, Any]) -> None:
    with pikepdf.open(BytesIO(written[0])) as document:
        elements = list(walk(document.Root.StructTreeRoot.K[0]))
        kinds = {str(element.S) for element in elements}
        assert kinds == {
            *("/Document", "/H1", "/H2", "/H3", "/P", "/Table", "/TR", "/TH", "/TD", "/Figure")
        }
        for element in elements:
            if element.S == "/Table":
                rows = [[str(cell.S) for cell in row.K] for row in element.K]
                assert len({len(row) for row in rows}) == 1
                assert set(rows[0]) == {"/TH"}
            if element.S == "/Figure":
                assert len(str(element.Alt)) > 20


def test_poppler_reads_sentences_whole_and_in_their_order(
    written: tuple[bytes, Any], tmp_path: Path
) -> None:
    data, sheet = written
    (tmp_path / "sheet.pdf").write_bytes(data)
    words = ["pdfinfo", "-struct-text", str(tmp_path / "sheet.pdf")]
    done = subprocess.run(words, check=True, capture_output=True, timeout=60)
    said = done.stdout.decode("utf-8")
    at = 0
    for step in (step for step in sheet.steps if not step.way):
        at = said.index(f'"{step.number}. {step.title}"', at)
        for sentence in step.sentences:
            at = said.index(f'{sentence.text}"', at)
