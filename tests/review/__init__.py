"""A set is read with a sewer's eyes: the judge of the review."""
