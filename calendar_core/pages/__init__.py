"""The pages for the phone and the desk: the web face over the use cases that the command line has."""
