"""From what is drawn on a sheet to pieces in all sizes."""
