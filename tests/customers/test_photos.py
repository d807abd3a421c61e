"""The one way a photograph comes in: whatever is sent, what is kept is a clean picture or nothing."""

from __future__ import annotations

import tracemalloc
from io import BytesIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageFile, UnidentifiedImageError

from customers.photos.taking import EDGE, LEAST_EDGE, MOST_PIXELS, SMALL_EDGE, PhotoRefused, take_photo
from tests.customers.uploads import KEPT, PLACE, REFUSED, SCRIPT, drawn, located, phone, saved

RED, WHITE = (200, 0, 0), (255, 255, 255)
#: Segments of a JPEG that carry something beside the picture: APP1 to APP15, comments (ITU-T T.81, table B.1).
APART = [bytes([0xFF, mark]) for mark in (*range(0xE1, 0xF0), 0xFE)]


def sent(data: bytes, name: str = "IMG_0001.jpg") -> Any:
    return SimpleUploadedFile(name, data, content_type="image/jpeg")


def near(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    return all(abs(a - b) < 25 for a, b in zip(one, other, strict=True))


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_refused_says_what_came_and_what_would_do(name: str) -> None:
    with pytest.raises(PhotoRefused) as refused:
        take_photo(sent(REFUSED[name]()))
    assert refused.value.value
    assert refused.value.accepted
    assert "photo" in str(refused.value)


def test_half_a_picture_is_refused_also_where_another_library_lets_it_pass(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)  # what drawing papers asks of Pillow
    broken = [name for name in REFUSED if "cut in half" in name or "in a png" in name]
    assert len(broken) >= 4
    for name in broken:
        with pytest.raises(PhotoRefused):
            take_photo(sent(REFUSED[name]()))
    assert ImageFile.LOAD_TRUNCATED_IMAGES is True


def test_there_are_more_than_forty() -> None:
    assert len(REFUSED) + len(KEPT) >= 55


def heads(data: bytes) -> list[bytes]:
    """The marks of a JPEG's segments up to its pixels, in order (ITU-T T.81, annex B)."""
    found, at = [], 2
    while data[at : at + 2] != b"\xff\xda":
        found.append(data[at : at + 2])
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return found


@pytest.mark.parametrize("name", KEPT)
def test_what_is_kept_is_a_jpeg_with_nothing_beside_the_picture(name: str) -> None:
    taken = take_photo(sent(KEPT[name]()))
    for data, edge in ((taken.data, EDGE), (taken.small, SMALL_EDGE)):
        with Image.open(BytesIO(data)) as again:
            assert (again.format, again.mode) == ("JPEG", "RGB")
            assert max(again.size) <= edge
            assert not again.getexif()
            assert not {"icc_profile", "comment", "exif", "xmp"} & again.info.keys()
            again.load()
        assert not set(APART) & set(heads(data))
        assert data.endswith(b"\xff\xd9")
        for foreign in (PLACE, SCRIPT, b"qzmaker", b"qzcomment", b"qzprofile", b"PK\x03\x04"):
            assert foreign not in data
    assert len(taken.small) < 40_000


def test_the_places_are_in_what_is_sent() -> None:
    """Else the test above would prove nothing."""
    assert PLACE in located()
    assert SCRIPT in located()
    assert PLACE in KEPT["webp that says where"]()
    assert PLACE in phone()
    assert b"qzmaker" in phone()


def test_a_phones_own_picture_comes_out_upright_and_once_turned() -> None:
    """640 by 480 stored, turned by a quarter to the right: the red corner belongs at the upper right."""
    taken = take_photo(sent(phone(), "IMG_0002.HEIC"))
    assert (taken.width, taken.height) == (480, 640)
    with Image.open(BytesIO(taken.data)) as again:
        assert near(again.getpixel((470, 8)), RED)
        assert not near(again.getpixel((8, 8)), RED)
        assert near(again.getpixel((200, 320)), (150, 98, 40))


def test_only_the_one_way_in_decodes_a_phones_own_picture() -> None:
    """What else opens pictures here (papers, exports) does not learn a further format."""
    with pytest.raises(UnidentifiedImageError):
        Image.open(BytesIO(phone()))


@pytest.mark.parametrize(
    ("orientation", "corner"),
    [(1, (0, 0)), (2, (1, 0)), (3, (1, 1)), (4, (0, 1)), (5, (0, 0)), (6, (1, 0)), (7, (1, 1)), (8, (0, 1))],
)
def test_every_way_of_holding_the_camera_comes_out_upright(orientation: int, corner: tuple[int, int]) -> None:
    """Where the stored picture's first corner belongs, by the Orientation tag's eight values (Exif 2.3, 4.6.4)."""
    taken = take_photo(sent(located(orientation)))
    with Image.open(BytesIO(taken.data)) as again:
        wide, high = again.size
        assert (wide > high) is (orientation < 5)
        spot = again.getpixel((8 + corner[0] * (wide - 17), 8 + corner[1] * (high - 17)))
    assert near(spot, RED)


def test_what_one_can_see_through_lies_on_white() -> None:
    clear = drawn(mode="RGBA")
    clear.putalpha(0)
    taken = take_photo(sent(saved("PNG", clear)))
    with Image.open(BytesIO(taken.data)) as again:
        assert near(again.getpixel((20, 20)), WHITE)


def test_sixteen_bits_of_grey_keep_their_level() -> None:
    taken = take_photo(sent(KEPT["png of sixteen bits"]()))
    with Image.open(BytesIO(taken.data)) as again:
        assert near(again.getpixel((30, 30)), (128, 128, 128))


def test_sizes_just_inside_and_just_outside() -> None:
    assert take_photo(sent(saved("PNG", Image.new("RGB", (LEAST_EDGE, LEAST_EDGE))))).width == LEAST_EDGE
    with pytest.raises(PhotoRefused, match="31 by 32 pixels"):
        take_photo(sent(saved("PNG", Image.new("RGB", (LEAST_EDGE - 1, LEAST_EDGE)))))
    high = MOST_PIXELS // 10_000
    assert take_photo(sent(saved("PNG", Image.new("1", (10_000, high))))).width == EDGE
    with pytest.raises(PhotoRefused, match="50 million"):
        take_photo(sent(saved("PNG", Image.new("1", (10_000, high + 1)))))


@pytest.mark.parametrize(
    "name",
    [
        "png claiming ten milliard pixels",
        "png bomb, real",
        "jpeg claiming the most a jpeg can",
        "heic claiming ten milliard pixels",
    ],
)
def test_a_bomb_is_known_by_its_head(name: str) -> None:
    """Refused before memory for its pixels is asked for: well under what they would take."""
    data = sent(REFUSED[name]())
    tracemalloc.start()
    with pytest.raises(PhotoRefused):
        take_photo(data)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 8_000_000


def test_a_refusal_names_a_phones_own_format_and_the_way_out() -> None:
    with pytest.raises(PhotoRefused, match=r"kind HEIC that is broken.*; accepted is one whole still.* as JPEG"):
        take_photo(sent(REFUSED["heic head"]()))


def test_the_names_of_the_sender_play_no_part() -> None:
    for name in ("../../secret-key", "a\x00.jpg", "con.png.exe", "x" * 300):
        assert take_photo(sent(saved("JPEG"), name)).width == 640
