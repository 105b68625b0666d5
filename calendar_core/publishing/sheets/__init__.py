"""Printed sheets: the trees of a walk with their questions and room for a pencil, as one page of HTML."""
