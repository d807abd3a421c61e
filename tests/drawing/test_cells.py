"""The layout as numbers: cells, points and rows of known paths (regression), and rules that hold for any path."""

from __future__ import annotations

import pytest

from sizing.drawing.metrics import balanced, broken, text_width
from sizing.drawing.path import INDENT, MATCH, Plan, plan_path
from sizing.drawing.values import PathPoint, PathProblem, PathSource, PathStage, WaterPath, point_letter
from sizing.engine.design import SourceType, StageKind
from tests.drawing import paths


def cells(plan: Plan) -> list[list[tuple[float, float]]]:
    return [[(cell.left, cell.right) for cell in row.cells] for row in plan.rows]


def widest(point: PathPoint) -> float:
    return max((text_width(reading.text, 14, "semibold-italic") for reading in point.readings), default=0)


def test_six_stages_and_a_polishing_unit_stand_in_one_row_of_1100() -> None:
    """Golden: the drawing's own grammar gives source 126, tank 60, branch 64, so point A stands at 250."""
    plan = plan_path(paths.lake_cabin(), 1100)
    assert (plan.lead.source, plan.lead.tank, plan.lead.branch, plan.lead.point) == (126, 156, 200, 250)
    assert cells(plan) == [[(250, 340), (340, 438), (438, 554), (554, 632), (632, 708), (708, 808)]]
    assert plan.width == 1100


def test_the_same_path_at_700_breaks_into_two_rows_of_three() -> None:
    plan = plan_path(paths.lake_cabin(), 700)
    assert [len(row.cells) for row in plan.rows] == [3, 3]
    assert plan.rows[1].cells[0].left == INDENT
    assert plan.rows[0].cells[-1].right == plan.width - MATCH


@pytest.mark.parametrize(
    ("path", "rows"),
    [(paths.one_stage(), 1), (paths.proposed_well(), 1), (paths.lake_cabin(), 1), (paths.nine_stages(), 2)],
)
def test_rows_at_1100(path: WaterPath, rows: int) -> None:
    assert len(plan_path(path, 1100).rows) == rows


EVERY = [
    paths.one_stage(),
    paths.proposed_well(),
    paths.lake_cabin(),
    paths.nine_stages(),
    paths.long_names(),
    *paths.every_kind(),
]


@pytest.mark.parametrize("path", EVERY, ids=lambda path: path.title)
@pytest.mark.parametrize("width", [360, 700, 828, 1100])
def test_nothing_collides(path: WaterPath, width: float) -> None:
    """Every word of a stage stays in its cell, cells touch but never overlap, columns of the ledger stay apart."""
    plan = plan_path(path, width)
    assert [cell.gap for row in plan.rows for cell in row.cells] == list(range(len(path.main)))
    for row in plan.rows:
        for cell in row.cells:
            room = cell.right - cell.left
            assert all(text_width(line, 12.5, "semibold") <= room for line in cell.names)
            assert all(text_width(line, 12) <= room for line in cell.parts)
            assert text_width(cell.stage.date, 12.5) <= room
        for left, right in zip(row.cells, row.cells[1:], strict=False):
            assert left.right == right.left
        for (x1, p1), (x2, p2) in zip(row.points, row.points[1:], strict=False):
            shown = [
                max((text_width(r.text, 14, "semibold-italic") for r in p.readings), default=0) for p in (p1, p2)
            ]
            assert x2 - x1 >= sum(shown) / 2
        assert row.cells == () or row.cells[-1].right <= plan.width


@pytest.mark.parametrize("path", EVERY, ids=lambda path: path.title)
def test_labels_clear_the_first_column(path: WaterPath) -> None:
    plan = plan_path(path, 1100)
    for held in path.rows:
        label, note = text_width(held.label, 12.5, "semibold"), text_width(held.note, 12)
        wide = max(label, note) if plan.lead.stacked else label + 6 + note
        assert wide + 8 <= plan.lead.point


def test_a_path_with_no_stage_is_source_and_taps() -> None:
    path = WaterPath("Bare", PathSource(SourceType.LAKE, "Lake"), points=(PathPoint("A"),))
    plan = plan_path(path, 700)
    assert len(plan.rows) == 1
    assert plan.rows[0].taps is not None


def test_widths_come_from_the_face() -> None:
    """Ten digits at 497/1000 em each, as the face's own metrics state for its regular figures."""
    assert text_width("0123456789", 10) == pytest.approx(10 * 4.97 + 1)
    assert text_width("漢", 10) == pytest.approx(11)  # not in the face: a full em, never too little


def test_breaking_keeps_every_word() -> None:
    name = "Unité d’élimination des matières organiques"
    assert " ".join(balanced(name, 12.5)) == name
    assert " ".join(broken(name, 60, 12.5)) == name
    assert len(balanced(name, 12.5)) == 2


def test_letters_leave_out_i_and_o() -> None:
    letters = [point_letter(gap) for gap in range(24)]
    assert "I" not in letters
    assert "O" not in letters
    assert len(set(letters)) == 24
    with pytest.raises(PathProblem, match="gap is 24, accepted is 0 to 23"):
        point_letter(24)


def test_a_path_that_cannot_be_drawn_says_why() -> None:
    source = PathSource(SourceType.LAKE, "Lake")
    stage = PathStage(1, StageKind.UV, "UV")
    with pytest.raises(PathProblem, match="points has 1 entries, accepted is 2"):
        WaterPath("x", source, (stage,), (PathPoint("A"),))
    with pytest.raises(PathProblem, match="row is 'iron', accepted is one of"):
        WaterPath("x", source, (), (paths.point(0, *paths.readings(True, iron="3")),))
    with pytest.raises(PathProblem, match="count is 0"):
        PathStage(1, StageKind.UV, "UV", count=0)
    with pytest.raises(PathProblem, match="name is empty"):
        PathStage(1, StageKind.UV, "  ")
