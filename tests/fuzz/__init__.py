"""Tests that go on: inputs changed at random, run through everything, and judged.

``python -m tests.fuzz --minutes 10``; what was found once is kept in ``cases/``.
"""
