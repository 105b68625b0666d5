"""What leaves the program: the iCalendar feed and charts."""
