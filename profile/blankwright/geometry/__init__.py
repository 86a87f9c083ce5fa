"""Curves and outlines: splines, arcs, areas, parallels. Mathematics; it knows no knife."""
