"""What the trade knows: materials, cutting processes, the allowance they ask for and what becomes of holes.

Figures live in `data/*.toml`, each with its value, unit, source and standing.
"""
