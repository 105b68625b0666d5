"""Works: the windows of a species' year, and which of them a tree is due."""
