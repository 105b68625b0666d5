"""Seasons: the possible years of a garden, and when in them each stage of a tree comes."""
