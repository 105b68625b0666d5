"""Commands of the calendar."""
