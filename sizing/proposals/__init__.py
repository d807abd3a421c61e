"""Designs: what was asked of the engine, what it answered, and what was chosen."""
