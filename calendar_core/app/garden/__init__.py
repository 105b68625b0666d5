"""The garden: founded, and its spots and trees."""
