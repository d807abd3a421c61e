"""Commands for those who run the place."""
