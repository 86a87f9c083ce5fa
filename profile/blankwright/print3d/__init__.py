"""Solids to print and hold: closed meshes of blade and handle."""
