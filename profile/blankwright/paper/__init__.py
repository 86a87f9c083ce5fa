"""On which sheets of paper something goes, and where: scenes, tiles, joins."""
