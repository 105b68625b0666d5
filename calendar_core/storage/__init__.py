"""Tables, migrations and the functions that read and write them."""
