"""Sweeps over whole ranges: signs, monotony, bounds, balances, round trips, and second methods."""
