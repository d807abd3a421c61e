"""Photographs: the one way in, the one way out."""
