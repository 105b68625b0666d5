"""The year: day length, heat, chill, stages, and how observed dates teach."""
