"""Pages for people at a desk."""
