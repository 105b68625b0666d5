"""Warnings: judged, stored, sent, and the moves they ask for."""
