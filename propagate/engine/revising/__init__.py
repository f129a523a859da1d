"""Revising: a drawing that was sent is laid on its piece, compared, and carried to other sizes.

`register` lays it and finds what it changed; `carried` takes a change of the base size to another
size; `layers` tells which pocket layers need no carrying.
"""
