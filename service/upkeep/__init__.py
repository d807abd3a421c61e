"""What is due when, and why."""
