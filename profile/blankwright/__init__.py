"""Blankwright: kitchen-knife outlines that can be cut, and the proof that the knife is inside the blank."""
