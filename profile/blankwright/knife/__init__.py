"""The knife, finished once: what it weighs, what moves it, what the rules say of it."""
