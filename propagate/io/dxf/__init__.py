"""The open interchange standard for sewn-product pattern data: DXF with a rule file."""

from __future__ import annotations

from propagate.io.dxf.read import read
from propagate.io.dxf.source import DxfSource
from propagate.io.dxf.write import DxfWriting, write
from propagate.io.options import ReadOptions, WriteOptions

__all__ = ["DxfSource", "DxfWriting", "ReadOptions", "WriteOptions", "read", "write"]
