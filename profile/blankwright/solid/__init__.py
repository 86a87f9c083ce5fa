"""Masses of blanks."""
