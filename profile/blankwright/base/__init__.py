"""What every room stands on: quantities with units, errors, reading text files, where the templates are."""
