"""Vector PDF at true scale: a canvas in millimetres, layers, embedded fonts, pages streamed."""
