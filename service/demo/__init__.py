"""The invented scenario of two dealers: every name, place, reading and price in it is made up.

``scenario/*.toml`` says who lives where and what happened; ``life`` lets it happen through the product's own
actions, with the clock of the day it is said to have happened.
"""
