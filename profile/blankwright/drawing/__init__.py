"""The workshop drawing: outlines, holes, dimensions and sections on one sheet."""
