"""The drawing kit: marks, lettering, paper sizes and PDF; knows no knife."""
