"""The trace template: what is traced, on which sheets, with what marks; corrections per printer."""
