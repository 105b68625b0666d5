"""The commands of spots and trees."""
