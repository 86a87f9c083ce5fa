"""The proof: reads a written file and judges it; shares nothing with the writer but an outline's vertices."""
