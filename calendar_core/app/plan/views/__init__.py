"""What commands print of the plan."""
