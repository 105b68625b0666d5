"""Keys to the pages: made, shown once, and taken back."""
