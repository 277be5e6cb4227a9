"""The command `mixjt`: options, one call into the studies, and what the terminal shows."""
