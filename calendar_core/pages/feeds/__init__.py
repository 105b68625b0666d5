"""What programs read: calendars by secret address, and data."""
