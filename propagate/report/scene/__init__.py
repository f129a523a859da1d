"""Drawings as values: what lies where and what it is; canvases write them."""
