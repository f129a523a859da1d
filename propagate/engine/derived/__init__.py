"""Derived pieces: the region of a main piece that a facing, a lining or an interfacing is."""
