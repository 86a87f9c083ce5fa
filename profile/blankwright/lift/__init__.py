"""The outline of a thing that exists, from a drawing, a picture or measured points."""
