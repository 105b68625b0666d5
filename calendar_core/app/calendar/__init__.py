"""The calendar: what subscribers are told, and the season as a picture."""
