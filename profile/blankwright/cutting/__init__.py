"""Cutting files: the file in a shop's style, the path and program of one's own table, the cover note."""
