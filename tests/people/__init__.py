"""Signing in, staff, and what every page carries."""
