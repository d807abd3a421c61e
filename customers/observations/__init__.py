"""What the caller says and what was seen."""
