"""Words that the path, the visits and the checklist share."""

from __future__ import annotations

import pytest

from service.installs.words import in_sentence


@pytest.mark.parametrize(
    ("name", "inside"),
    [
        ("Quartz sleeve", "quartz sleeve"),
        ("UV lamp 30 W", "UV lamp 30 W"),
        ("Housing O-ring", "housing O-ring"),
        ("O-ring set", "O-ring set"),
        ("Cartridge 10 x 4.5 in, 5 um", "cartridge 10 x 4.5 in, 5 um"),
        ("", ""),
    ],
)
def test_a_name_inside_a_sentence_keeps_its_letters(name: str, inside: str) -> None:
    assert in_sentence(name) == inside
