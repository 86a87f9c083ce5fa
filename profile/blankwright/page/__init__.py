"""A page on the maker's own machine: the knife drawn, its points and numbers moved, the same files written.

The page holds no answer of its own. Each edit travels over one web socket as a small message (`protocol.py`),
changes the
text of the design file (`document.py`), is solved and drawn here (`answer.py`), and comes back in parts: the shape at
once, the rest behind it, what is dear last; a newer edit ends the older one's rest. Files are written by `desk/`, as
for
the command line.
"""
