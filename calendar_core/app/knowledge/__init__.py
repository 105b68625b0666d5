"""Knowledge: species, what numbers rest on, and the choices of the grower."""
