"""What makes a phone a good reader: the page that installs, warnings pushed to it, pages and entries kept without a network."""
