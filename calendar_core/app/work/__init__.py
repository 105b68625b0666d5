"""Work: fitted to the grower's time, weighed beforehand, and fertilizing."""
