"""Moments when one step of the trade sets off the next: issued, answered, finished, tested."""
