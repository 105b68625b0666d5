"""Species profiles: their form, and loading them from config/."""
