"""What lies inside a piece follows its outline: inner lines, drill marks, placement marks."""
