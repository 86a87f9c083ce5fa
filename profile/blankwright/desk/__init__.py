"""Where files are made: everything prepared, proven and put in place, for one design or several, and for scripts."""
