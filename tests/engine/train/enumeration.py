"""Every line of a small catalogue, judged one by one: slow, and without any bound."""

from itertools import product as every

from sizing.engine.train_order import SLOTS
from sizing.engine.train_path import Line


def admissible(line: Line):
    """(costs, options) of every line without a fault."""
    by_slot = [[option for option in line.options if option.slot == slot] for slot in range(len(SLOTS))]
    used = [[None, *options] for options in by_slot if options]
    found = []
    for choice in every(*used):
        options = [option for option in choice if option is not None]
        path, faults = line.walk(options)
        if not faults:
            found.append((path.costs, options))
    return found


def front(costs):
    """The cost vectors no other beats."""
    unlike = set(costs)
    return {
        one
        for one in unlike
        if not any(other != one and all(a <= b for a, b in zip(other, one, strict=True)) for other in unlike)
    }
