"""Pure functions over numbers and arrays: no files, network, clock or garden words."""
