"""What is cut beside the blade, each in a file of its own: scales, liners, spacer, template, filing guide, sheath."""
