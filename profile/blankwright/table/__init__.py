"""One's own cutting table: the path of the cutter's middle."""
