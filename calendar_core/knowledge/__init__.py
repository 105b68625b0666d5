"""Knowledge: the words it is written in, the forms of config/, and the profiles read from it."""
