"""The form of a species profile: its stages, anchors, works, and what it stands."""
