"""Customer and site: the household file."""
