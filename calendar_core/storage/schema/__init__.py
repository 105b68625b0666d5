"""What a database holds, and how its tables come forward from one version of the program to the next."""
