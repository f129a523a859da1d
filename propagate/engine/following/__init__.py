"""Following: what must give in answer to a change, solved as one problem.

`newton` solves, `outline` says how the points of a piece hang on what may move, `cluster`
makes the problem of followers that share corners and writes its answer back.
"""
