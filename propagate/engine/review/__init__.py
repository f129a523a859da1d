"""Read a set with a sewer's eyes: what is sound as data and yet looks like a mistake.

The validator refuses what breaks rules of the model, the walk measures what is sewn.  A
review looks at what neither can see: a size that jumps out of the line of its neighbours,
an edge that nothing is sewn to, a dart whose tip lies outside.  It never changes a set and
never guesses which of two values is the right one.
"""
