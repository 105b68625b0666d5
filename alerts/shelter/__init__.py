"""What to do about a threat: the smallest means that keep a tree below its line, among the grower's own spots."""
