"""From a wish to a solved shape: families, requests, solving, holes in the tang."""
