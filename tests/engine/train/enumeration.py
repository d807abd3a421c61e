"""Every line of a small catalogue, judged one by one: slow, and without any bound."""

from sizing.engine.train_order import SLOTS
from sizing.engine.train_path import Line


def left(line, faults):
    """Whether any fault is not let pass."""
    return any(not line.lets(fault) for fault in faults)


def admissible(line: Line):
    """(costs, options) of every line without a fault. A line is not made longer once it has a fault: faults stay."""
    found = []

    def grow(path, options, slot):
        if slot == len(SLOTS):
            if not left(line, line.final_faults(path)):
                found.append((path.costs[:3], options))
            return
        grow(path, options, slot + 1)
        for option in line.options:
            if option.slot == slot and not left(line, line.feed(path, option).faults):
                longer = line.extend(path, option)
                if not left(line, line.step_faults(longer)):
                    grow(longer, [*options, option], slot + 1)

    grow(line.start(), [], 0)
    return found


def front(costs):
    """The cost vectors no other beats."""
    unlike = set(costs)
    return {
        one
        for one in unlike
        if not any(other != one and all(a <= b for a, b in zip(other, one, strict=True)) for other in unlike)
    }
