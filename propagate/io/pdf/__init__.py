"""Read patterns that were printed to PDF: lines and texts in millimetres."""
