"""Forms of the files in config/, each named like its file: what a table may hold, and the basis it must give."""
