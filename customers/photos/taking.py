"""Taking a photograph in. What is kept is drawn anew from the pixels: never the bytes that were sent.

Whatever rode along with the picture stays behind: place and time it was taken, the device, comments, profiles,
a second file glued to its end, its name. Nothing is decoded before its kind and its size are known.
"""

from __future__ import annotations

import struct
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from threading import Lock
from typing import IO, Any

import pi_heif
from django.utils.translation import gettext as _
from PIL import Image, ImageFile, ImageOps

#: What is opened at all, beside HEIC. A JPEG may turn out to be an MPO: what two-lens phones write into a .jpg.
FORMATS = ("JPEG", "PNG", "WEBP")
#: For the page's file field: by kind for phones, by ending for desks that know no such kind.
ACCEPT = "image/jpeg,image/png,image/webp,image/heic,.heic,.heif"
MOST_BYTES = 15 * 1024 * 1024
MOST_PIXELS = 50_000_000
MOST_EDGE = 16_000
LEAST_EDGE = 32
EDGE = 2048  # what is kept: fine enough to read a label by
SMALL_EDGE = 320
#: How a decoder gives up on a picture that is not one, or no longer.
BROKEN = (
    RuntimeError,
    OSError,
    SyntaxError,
    ValueError,
    TypeError,
    IndexError,
    KeyError,
    EOFError,
    OverflowError,
    ZeroDivisionError,
    struct.error,
    zlib.error,
    Image.DecompressionBombError,
)
#: How files begin that people send instead, so that the refusal can name them.
HEADS: tuple[tuple[int, bytes, str], ...] = (
    (4, b"ftyphei", "HEIC"),
    (4, b"ftyphev", "HEIC"),
    (4, b"ftypmif", "HEIC"),
    (4, b"ftypavi", "AVIF"),
    (4, b"ftyp", "video"),
    (0, b"GIF8", "GIF"),
    (0, b"BM", "BMP"),
    (0, b"II*\x00", "TIFF"),
    (0, b"MM\x00*", "TIFF"),
    (0, b"%PDF", "PDF"),
    (0, b"PK\x03\x04", "archive"),
)


#: Marks of a HEIF file whose main picture is still and coded in HEVC (ISO/IEC 23008-12, annex B).
HEIC_MARKS = (b"heic", b"heix", b"heim", b"heis", b"mif1")
#: Small copies, depth and the like are not even looked for.
pi_heif.options.THUMBNAILS = pi_heif.options.DEPTH_IMAGES = pi_heif.options.AUX_IMAGES = False
pi_heif.options.DECODE_THREADS = 1


class PhotoRefused(ValueError):
    """A picture was not kept: ``value`` says what came, ``accepted`` what would do."""

    def __init__(self, value: str, accepted: str) -> None:
        self.field, self.value, self.accepted = "photo", value, accepted
        super().__init__(_("photo: %(value)s; accepted is %(accepted)s") % {"value": value, "accepted": accepted})


@dataclass(frozen=True)
class TakenPhoto:
    """A picture as it is kept: JPEG, upright, on white, without a word about where it comes from."""

    data: bytes
    small: bytes
    width: int
    height: int


def take_photo(upload: IO[bytes] | Any) -> TakenPhoto:
    """The picture in an uploaded file, drawn anew in two sizes.

    Raises ``PhotoRefused`` for anything but one whole JPEG, PNG, WebP or HEIC picture of a sensible size. Colour
    profiles are left behind: a wide-gamut picture comes out a little duller.
    """
    data = _bytes_of(upload)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # doubts about notes we leave behind, sizes we judge ourselves
        try:
            flat = _drawn(data)
        except PhotoRefused:
            raise
        except BROKEN as trouble:
            raise _refusal(data) from trouble
    flat.thumbnail((EDGE, EDGE), Image.Resampling.LANCZOS)
    small = flat.copy()
    small.thumbnail((SMALL_EDGE, SMALL_EDGE), Image.Resampling.LANCZOS)
    return TakenPhoto(_jpeg(flat, 82), _jpeg(small, 72), flat.width, flat.height)


def _bytes_of(upload: IO[bytes] | Any) -> bytes:
    upload.seek(0)
    data: bytes = upload.read(MOST_BYTES + 1)
    if not data:
        raise PhotoRefused(_("an empty file"), _("a JPEG, PNG, WebP or HEIC picture"))
    if len(data) > MOST_BYTES:
        most = MOST_BYTES // 1024**2
        raise PhotoRefused(
            _("a file of more than %(most)s MB") % {"most": most}, _("at most %(most)s MB") % {"most": most}
        )
    return data


WHOLE_ONLY = Lock()


@contextmanager
def _whole_only() -> Iterator[None]:
    """Half a picture is refused, whatever another library of this process asked Pillow to let pass."""
    with WHOLE_ONLY:
        before, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
        try:
            yield
        finally:
            ImageFile.LOAD_TRUNCATED_IMAGES = before


def _drawn(data: bytes) -> Image.Image:
    """The picture on a new sheet. The size is looked at before a pixel is decoded."""
    with _whole_only(), _opened(data) as opened:
        _check_size(opened)
        if opened.format in ("JPEG", "MPO"):
            opened.draft("RGB", (EDGE, EDGE))
        elif opened.format != "HEIF" and getattr(opened, "n_frames", 1) > 1:
            raise PhotoRefused(_("a moving picture"), _("one still picture"))
        opened.load()
        turned = _upright(opened)
        sheet = Image.new("RGB", turned.size, "white")
        if turned.mode in ("RGBA", "LA", "PA", "P") or "transparency" in turned.info:
            clear = turned.convert("RGBA")
            sheet.paste(clear, mask=clear.getchannel("A"))
        elif turned.mode.startswith("I"):  # sixteen bits of grey
            sheet.paste(turned.convert("I").point(lambda level: level / 256).convert("L"))
        else:
            sheet.paste(turned.convert("RGB"))
        return sheet


def _opened(data: bytes) -> Image.Image:
    """The picture with its head read and no pixel yet; of several in a HEIC file, the one it calls its main one.

    HEIC is opened by its own class here and not registered with Pillow, so that nothing else of this process decodes
    it. The decoder refuses a body larger than its head claims, and has turned the picture already.
    """
    if data[4:8] == b"ftyp" and data[8:12] in HEIC_MARKS:
        return pi_heif.HeifImageFile(BytesIO(data))
    return Image.open(BytesIO(data), formats=FORMATS)


def _check_size(opened: Image.Image) -> None:
    wide, high = opened.size
    told = _("%(wide)s by %(high)s pixels") % {"wide": wide, "high": high}
    if min(wide, high) < LEAST_EDGE:
        raise PhotoRefused(told, _("at least %(least)s pixels each way") % {"least": LEAST_EDGE})
    if max(wide, high) > MOST_EDGE or wide * high > MOST_PIXELS:
        accepted = _("at most %(edge)s pixels each way and %(most)s million in all")
        raise PhotoRefused(told, accepted % {"edge": MOST_EDGE, "most": MOST_PIXELS // 1_000_000})


def _upright(opened: Image.Image) -> Image.Image:
    """Turned as the camera was held; a picture whose note about that cannot be read stays as it lies."""
    try:
        return ImageOps.exif_transpose(opened)
    except BROKEN:
        return opened


def _refusal(data: bytes) -> PhotoRefused:
    """What came instead of a picture, in words."""
    accepted = _("a JPEG, PNG, WebP or HEIC picture")
    for at, head, name in HEADS:
        if data[at : at + len(head)] == head:
            if name == "HEIC":
                named = _("a file of kind HEIC that is broken, moving or coded in another way")
                return PhotoRefused(named, _("one whole still picture; send it as JPEG"))
            return PhotoRefused(_("a file of kind %(name)s") % {"name": name}, accepted)
    if data[:3] == b"\xff\xd8\xff" or data[1:4] == b"PNG" or data[8:12] == b"WEBP":
        return PhotoRefused(_("a picture that is cut short or broken"), _("a whole picture; send it once more"))
    return PhotoRefused(_("a file that is no picture"), accepted)


def _jpeg(picture: Image.Image, quality: int) -> bytes:
    out = BytesIO()
    picture.save(out, "JPEG", quality=quality, optimize=True, progressive=True)
    return out.getvalue()
