"""Rota: work put on the days that have time for it."""
