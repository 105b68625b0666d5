"""The season chart: heat, day length and the strips of stages and work, as SVG and PNG."""
