"""The household's own pages."""
