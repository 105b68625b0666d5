"""The review of the garden: its walks, its sheets, what was found, and what comes out of it."""
