"""Welt and jetted openings: measured, laid, judged, and what is sewn to them made to fit."""
