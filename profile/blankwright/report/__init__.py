"""The report of a knife: data, and words for the terminal."""
