"""What changed in shape though nobody edited it: "all sews" is not "all is well".

Every piece that followed is compared with itself.  Told is what no relation asks for and a
person would want to see: a facing that became narrower, edges that were parallel, a half
that no longer mirrors the other, a line that ends in the air, an edge that nothing is sewn to.
"""
