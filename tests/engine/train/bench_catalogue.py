"""A catalogue of fakes on which both the search and the enumeration can be timed."""

from sizing.engine.design import Goals, StageKind

from .fakes import Recipe, request

GOALS = Goals(at_entry={"iron": 0.3, "hardness": 100.0}, at_tap={"nitrate": 10.0}, ph_low=None, ph_high=None)
REQUEST = request(
    {"iron": 2.0, "hardness": 300.0, "turbidity": 2.0, "nitrate": 14.0, "total_coliform": 3.0, "uvt": 90.0},
    goals=GOALS,
    cut_in=345.0,
)


def _sizes(kind, count, **recipe):
    return [
        Recipe(kind, f"{kind.value}-{i}", price=400 + 90 * i, minutes=60.0 - 4 * i, loss_kpa=12.0 - i, **recipe)
        for i in range(count)
    ]


CATALOGUE = [
    *_sizes(StageKind.BACKWASH, 5, removes=(("turbidity", 0.8),), drain=True, backwash=20.0),
    *_sizes(StageKind.AIROX, 5, removes=(("iron", 0.95),), drain=True, backwash=22.0),
    *_sizes(StageKind.SOFTENER, 6, removes=(("hardness", 0.95),), limits=(("iron", "max", 1.0, False),), drain=True,
            salt_per=0.3),
    *_sizes(StageKind.SEDIMENT, 5, removes=(("turbidity", 0.85),), fine=True, cyst=True),
    *_sizes(StageKind.UV, 5, limits=(("uvt", "min", 75.0, True), ("turbidity", "max", 1.0, False)), dose=40.0),
    *_sizes(StageKind.RO, 4, removes=(("nitrate", 0.8),), certified=("nitrate",)),
]  # fmt: skip
