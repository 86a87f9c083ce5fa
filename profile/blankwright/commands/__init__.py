"""The commands, by what a maker wants; each loads what it needs when it runs."""
