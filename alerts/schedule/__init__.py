"""When jobs run, and which process runs them."""
