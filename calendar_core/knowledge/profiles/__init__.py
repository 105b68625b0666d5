"""Profiles read and checked: of kinds and species, with their names, numbers and the answers of the grower."""
