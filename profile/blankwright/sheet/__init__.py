"""The build sheet as data: every stage from blank to edge, every figure with its standing."""
