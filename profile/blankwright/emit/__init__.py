"""Writers: they draw what they are given and compute nothing about the knife."""
