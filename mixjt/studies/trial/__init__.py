"""Reading a run of the machine: its log, where it stood still or changed slowly, and what that says of it."""
