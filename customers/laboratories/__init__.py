"""Laboratories a dealer works with."""
