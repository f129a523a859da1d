"""A PDF file that is written object by object, so that no finished page stays in memory."""

from __future__ import annotations

import hashlib
from typing import BinaryIO

import pydyf

__all__ = ["StreamedFile", "pdf_text"]


def pdf_text(text: str) -> str:
    """Return A text as PDF holds it outside pages."""
    return f"<feff{text.encode('utf-16-be', 'replace').hex()}>"


class StreamedFile:
    """Numbers objects and writes each of them as soon as it is complete.

    The same objects in the same order give the same bytes: there is no date, and the
    file's identifier is a digest of its content.

    Parameters
    ----------
    out : binary file
        Written from its present place on; it need not be seekable.
    """

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        self._digest = hashlib.sha256()
        self._place = 0
        self._offsets: dict[int, int] = {}
        self._last = 0
        self._write(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")

    def reserve(self) -> int:
        """Number an object that is written later."""
        self._last += 1
        return self._last

    def put(self, item: pydyf.Object, number: int | None = None) -> int:
        """Write an object; returns its number."""
        item.number = self.reserve() if number is None else number
        self._offsets[item.number] = self._place
        self._write(item.indirect + b"\n")
        return int(item.number)

    def finish(self, root: int, info: int) -> None:
        """Write the table of objects and the trailer."""
        missing = [n for n in range(1, self._last + 1) if n not in self._offsets]
        if missing:
            raise AssertionError(f"objects {missing} were numbered and never written")
        mark = self._digest.hexdigest()[:32].encode()
        start = self._place
        rows = [b"0000000000 65535 f \n"]
        rows += [b"%010d 00000 n \n" % self._offsets[n] for n in range(1, self._last + 1)]
        self._write(b"xref\n0 %d\n" % (self._last + 1) + b"".join(rows))
        self._write(
            b"trailer\n<</Size %d /Root %d 0 R /Info %d 0 R /ID [<%s> <%s>]>>\n"
            % (self._last + 1, root, info, mark, mark)
        )
        self._write(b"startxref\n%d\n%%%%EOF\n" % start)

    def _write(self, data: bytes) -> None:
        self._out.write(data)
        self._digest.update(data)
        self._place += len(data)
