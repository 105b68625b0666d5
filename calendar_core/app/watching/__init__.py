"""Watching: the jobs of a database, done by one process for as long as it lives."""
