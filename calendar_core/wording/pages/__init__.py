"""Sentences of the pages that hold values; plain headings and labels stand in the templates."""
