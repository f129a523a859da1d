"""Darts: what became of them in an edit, and how a companion takes one over."""
