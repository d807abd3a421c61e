"""Template tags of the tablet."""
