"""The tree: wounds that close, grafts that join, growth, and what it is fed."""
