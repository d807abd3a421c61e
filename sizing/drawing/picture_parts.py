"""What the small pictures are put together from: glass, tap, tank and so on, in a square of 48 px."""

from __future__ import annotations

from typing import Final

from sizing.drawing.element import group, number, path

GROUND: Final = path("fl", "M3 14H45") + path("so", "M6 14l-3 4M14 14l-3 4M36 14l-3 4M44 14l-3 4")
_GRAINS: Final = tuple(
    (x, y)
    for x, y in zip(
        (0, 6, 11, 3, 9, -3, 14, -4, 7, 12, 1, 16), (0, -3, 2, 6, -7, -5, -4, 4, 5, -9, -9, 4), strict=True
    )
)
_ROUND: Final = (
    (0, 0, 2.6),
    (-6, 5, 2),
    (6, 4, 2.2),
    (-3, -6, 1.8),
    (4, -7, 2.4),
    (-7, -3, 2.1),
    (8, -3, 1.7),
    (1, 8, 2),
    (-9, 2, 1.6),
)


def _moved(body: str, x: float, y: float) -> str:
    return group("in", body, at=(x, y)) if x or y else body


def glass(water: str, *inside: str, x: float = 0, y: float = 0) -> str:
    """A drinking glass, its water of class ``water``, and what is in it."""
    body = path("s", "M13 8H35L32 44H16Z") + path(water, "M13.6 15H34.4L32 43.5H16Z")
    return _moved(body + "".join(inside) + path("n", "M13 8H35L32 44H16Z"), x, y)


def dust(fill: str, top: float = 36) -> str:
    """What lies at the bottom of the glass."""
    return path(fill, f"M16.6 {number(top + 1)}Q24 {number(top - 2)} 31.4 {number(top + 1)}L31 43H17Z")


def cup() -> str:
    """A cup with something hot in it."""
    return path("o", "M8 16H34V32Q34 42 24 42H18Q8 42 8 32Z") + path("n", "M34 20H40V30H34") + waves(21, 12, 2)


def tap(water: str = "w", x: float = 0, y: float = 0) -> str:
    """A tap seen from the side, its water of class ``water``."""
    body = path("s", "M5 14H25Q35 14 35 24V29H26V25Q26 23 24 23H5Z")
    body += path(water, "M5 15.5H25Q33.5 16 33.5 24V28H27.5V25Q27 21.5 24 21.5H5Z")
    return _moved(body + path("n", "M5 14H25Q35 14 35 24V29H26V25Q26 23 24 23H5ZM15 14V7M9 7H21"), x, y)


def drop(fill: str, x: float, y: float) -> str:
    """A drop hanging at a point."""
    at = f"M{number(x)} {number(y)}q6 8 0 11q-6 -3 0 -11Z"
    return path(fill, at) + path("d", at)


def waves(x: float, y: float, count: int = 2) -> str:
    """Smell or steam rising from a point."""
    starts = [x + 6 * (k - (count - 1) / 2) for k in range(count)]
    return path("d", "".join(f"M{number(at)} {number(y)}q-3 -2.5 0 -5t0 -5" for at in starts))


def bubbles(x: float, y: float, count: int = 6) -> str:
    """Bubbles about a point."""
    found = []
    for dx, dy, r in _ROUND[:count]:
        left = f"M{number(x + dx - r)} {number(y + dy)}"
        found.append(f"{left}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 -{2 * r} 0Z")
    return path("bub", "".join(found))


def specks(count: int, x: float = 20, y: float = 28) -> str:
    """Grains about a point."""
    return path("g", "".join(f"M{number(x + dx)} {number(y + dy)}h.1" for dx, dy in _GRAINS[:count]))


def ring(x: float, y: float, r: float) -> str:
    """A circle with its inside."""
    half, wide = number(r), number(2 * r)
    arc = f"a{half} {half} 0 1 0"
    return path("o", f"M{number(x - r)} {number(y)}{arc} {wide} 0{arc} -{wide} 0Z")


def mark(x: float, y: float) -> str:
    """A dot that says: here."""
    return path("k", f"M{number(x - 2)} {number(y)}a2 2 0 1 0 4 0a2 2 0 1 0 -4 0Z")


def nose(x: float) -> str:
    """A nose from the side."""
    return _moved(path("n", "M0 6Q2 18 8 28Q8 34 -2 33Q-6 32 -6 40"), x, 0)


def person(x: float) -> str:
    """A person, half length."""
    return ring(x, 14, 6) + _moved(path("o", "M-10 42Q-10 24 0 24Q10 24 10 42Z"), x, 0)


def tall(x: float) -> str:
    """A tall treatment tank, its middle at x."""
    shape = "M-8 20Q-8 13 0 13Q8 13 8 20V42Q8 45 5 45H-5Q-8 45 -8 42Z"
    water = path("w", "M-8 22H8V42Q8 45 5 45H-5Q-8 45 -8 42Z")
    return _moved(path("s", shape) + water + path("n", shape), x, 0)


def head(x: float) -> str:
    """A control head on a tall tank."""
    return path("o", f"M{number(x - 7)} 3H{number(x + 7)}V13H{number(x - 7)}Z") + path("d", f"M{number(x - 3)} 8h6")


def salt_box(x: float, wide: float = 8) -> str:
    """A box with salt in it, its middle at x."""
    left, right = number(x - wide), number(x + wide)
    return (
        path("o", f"M{left} 22H{right}V45H{left}Z")
        + path("salt", f"M{left} 32q{number(wide / 2)} -5 {number(wide)} -1t{number(wide)} -2V45H{left}Z")
        + path("o", f"M{number(x - wide - 2)} 18H{number(x + wide + 2)}V22H{number(x - wide - 2)}Z")
    )


def pipe(y: float) -> str:
    """A length of pipe across the picture."""
    return path("o", f"M2 {number(y - 5)}H46V{number(y + 5)}H2Z")
