"""A verdict on any cutting file, with a picture of the faults and a mended copy."""
