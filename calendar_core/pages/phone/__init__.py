"""What makes the pages an installed one: manifest, worker, and warnings pushed to the phone."""
