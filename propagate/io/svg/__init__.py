"""Vector drawings (SVG) in and out."""
