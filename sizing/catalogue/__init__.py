"""Products with ratings and prices."""
