"""Samples, results, and the do-not-drink notice that follows from them."""
