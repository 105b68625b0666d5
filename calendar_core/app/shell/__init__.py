"""The shell: the clock, options, printing, and what every command begins with."""
