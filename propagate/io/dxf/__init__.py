"""The open interchange standard for sewn-product pattern data: DXF with a rule file."""

from __future__ import annotations

from propagate.io.dxf.options import ReadOptions, WriteOptions
from propagate.io.dxf.read import read
from propagate.io.dxf.reports import Note, ReadingReport, WritingReport
from propagate.io.dxf.source import DxfSource
from propagate.io.dxf.write import write

__all__ = [
    "DxfSource",
    "Note",
    "ReadOptions",
    "ReadingReport",
    "WriteOptions",
    "WritingReport",
    "read",
    "write",
]
