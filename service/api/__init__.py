"""REST routes and schema."""
