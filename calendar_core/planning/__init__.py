"""From stages and a tree's state to windows, and from windows to dated items with reasons."""
