"""Files that people, phones and strangers send where a photograph is asked for. All drawn here, none collected."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw
from PIL.PngImagePlugin import PngInfo

DATA = Path(__file__).parent / "data"
PLACE = b"N48 51.5 qzgps"
SCRIPT = b"<script>qzscript()</script>"


def drawn(size: tuple[int, int] = (640, 480), mode: str = "RGB") -> Image.Image:
    """A glass of brown water, its upper left corner marked so that turning it shows."""
    sheet = Image.new("RGB", size, (236, 240, 238))
    pen = ImageDraw.Draw(sheet)
    wide, high = size
    pen.rectangle((wide * 0.35, high * 0.3, wide * 0.65, high * 0.9), fill=(150, 98, 40), outline=(20, 30, 36))
    pen.rectangle((0, 0, wide * 0.2, high * 0.2), fill=(200, 0, 0))
    return sheet if mode == "RGB" else sheet.convert(mode)


def saved(kind: str, picture: Image.Image | None = None, **options: Any) -> bytes:
    """A picture as a file of a kind."""
    out = BytesIO()
    (picture or drawn()).save(out, kind, **options)
    return out.getvalue()


def located(orientation: int = 1) -> bytes:
    """A JPEG with place, time, device and how the camera was held."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "qzmaker"
    exif[0x9286] = "qzcomment"
    place = exif.get_ifd(0x8825)
    place[1], place[2] = "N", (48.0, 51.0, 30.0)
    place[29] = PLACE.decode()
    return saved("JPEG", exif=exif, comment=SCRIPT)


def phone() -> bytes:
    """A HEIC file as phones write it: ``drawn()`` coded in HEVC, turned by a quarter, place and device inside.

    Coded once (x265) and kept, since the decoder the product has cannot write any.
    """
    return (DATA / "held-upright.heic").read_bytes()


def two_in_one() -> bytes:
    """Two small pictures in one HEIC file, the first of them the main one."""
    return (DATA / "two.heic").read_bytes()


def heic_claiming(wide: int, high: int) -> bytes:
    """A HEIC file whose head claims another size than its body has (the box ``ispe``, ISO/IEC 23008-12, 6.5.3)."""
    data = bytearray(phone())
    at = data.index(b"ispe") + 8
    data[at : at + 8] = struct.pack(">II", wide, high)
    return bytes(data)


def _chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png(wide: int, high: int, *chunks: bytes, body: bytes = b"") -> bytes:
    """A PNG by hand: its claimed size, extra chunks, its pixels as given."""
    head = _chunk(b"IHDR", struct.pack(">IIBBBBB", wide, high, 1, 0, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(chunks) + _chunk(b"IDAT", body) + _chunk(b"IEND", b"")


def jpeg_claiming(wide: int, high: int) -> bytes:
    """A JPEG whose head claims another size than its body has."""
    data = bytearray(saved("JPEG"))
    at = data.index(b"\xff\xc0") + 5
    data[at : at + 4] = struct.pack(">HH", high, wide)
    return bytes(data)


def _moving(kind: str) -> bytes:
    frames = [drawn(), drawn((640, 480), "L").convert("RGB")]
    return saved(kind, frames[0], save_all=True, append_images=frames[1:], duration=100)


def _text(size: int) -> bytes:
    return b"Comment\x00\x00" + zlib.compress(b"0" * size, 9)


def _noted() -> bytes:
    note = PngInfo()
    note.add_text("Comment", SCRIPT.decode())
    note.add_itxt("XML:com.adobe.xmp", f"<x>{PLACE.decode()}</x>")
    return saved("PNG", pnginfo=note)


def _broken_note() -> bytes:
    """A good picture whose note about how the camera was held points outside itself."""
    data = located(6)
    at = data.index(b"Exif\x00\x00") + 6
    return data[: at + 4] + b"\xff\xff\xff\x7f" + data[at + 8 :]


def _middle_grey() -> bytes:
    return saved("PNG", Image.new("I;16", (64, 64), 32768))


REFUSED: dict[str, Callable[[], bytes]] = {
    "empty": lambda: b"",
    "one byte": lambda: b"\xff",
    "words called jpg": lambda: b"not a picture at all\n" * 20,
    "page called png": lambda: b"<!doctype html>" + SCRIPT,
    "drawing with a script": lambda: b'<svg xmlns="http://www.w3.org/2000/svg">' + SCRIPT + b"</svg>",
    "gif": lambda: saved("GIF"),
    "moving gif": lambda: _moving("GIF"),
    "bmp": lambda: saved("BMP"),
    "tiff": lambda: saved("TIFF"),
    "pdf": lambda: saved("PDF"),
    "ico": lambda: saved("ICO"),
    "ppm": lambda: saved("PPM"),
    "avif": lambda: saved("AVIF"),
    "jpeg 2000": lambda: saved("JPEG2000"),
    "heic head": lambda: b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"\x00" * 400,
    "heic cut in half": lambda: phone()[: len(phone()) // 2],
    "heic without its last bytes": lambda: phone()[:-40],
    "heic claiming less than it holds": lambda: heic_claiming(64, 64),
    "heic claiming ten milliard pixels": lambda: heic_claiming(100_000, 100_000),
    "heic claiming a line": lambda: heic_claiming(3000, 8),
    "moving heic": lambda: phone().replace(b"ftypheic", b"ftyphevc"),
    "film": lambda: b"\x00\x00\x00\x20ftypisom\x00\x00\x02\x00isomiso2avc1mp41" + b"\x00" * 400,
    "archive": lambda: b"PK\x03\x04" + b"\x14\x00" + b"\x00" * 200,
    "program": lambda: b"MZ\x90\x00" + b"\x00" * 300,
    "program for servers": lambda: b"\x7fELF\x02\x01\x01" + b"\x00" * 300,
    "page code called jpg": lambda: b"<?php echo 1; ?>",
    "postscript": lambda: b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\nquit\n",
    "photoshop head": lambda: b"8BPS\x00\x01" + b"\x00" * 300,
    "jpeg head alone": lambda: b"\xff\xd8\xff\xe0",
    "jpeg cut in half": lambda: saved("JPEG")[: len(saved("JPEG")) // 2],
    "png cut in half": lambda: saved("PNG")[: len(saved("PNG")) // 2],
    "webp cut in half": lambda: saved("WEBP")[: len(saved("WEBP")) // 2],
    "png with a false sum": lambda: saved("PNG").replace(b"IHDR", b"IHDX", 1),
    "png claiming ten milliard pixels": lambda: png(100_000, 100_000, body=zlib.compress(b"\x00" * 1000)),
    "png bomb, real": lambda: png(15_000, 15_000, body=zlib.compress(b"\x00" * (1876 * 15_000), 9)),
    "png of no width": lambda: png(0, 400, body=zlib.compress(b"\x00")),
    "jpeg claiming the most a jpeg can": lambda: jpeg_claiming(65_500, 65_500),
    "jpeg too wide": lambda: saved("JPEG", Image.new("L", (16_001, 40))),
    "webp of the largest side": lambda: saved("WEBP", Image.new("RGB", (16_383, 40)), quality=1),
    "text bomb in a png": lambda: png(64, 64, _chunk(b"zTXt", _text(400_000_000)), body=zlib.compress(b"\x00" * 600)),
    "profile bomb in a png": lambda: png(
        64, 64, _chunk(b"iCCP", b"x\x00\x00" + zlib.compress(b"0" * 400_000_000, 9)), body=zlib.compress(b"\x00" * 99)
    ),
    "over fifteen megabytes": lambda: saved("JPEG") + b"\x00" * (15 * 1024 * 1024),
    "one pixel": lambda: saved("PNG", Image.new("RGB", (1, 1))),
    "a line": lambda: saved("PNG", Image.new("RGB", (3000, 8))),
    "moving webp": lambda: _moving("WEBP"),
    "moving png": lambda: _moving("PNG"),
}
KEPT: dict[str, Callable[[], bytes]] = {
    "jpeg": lambda: saved("JPEG"),
    "png": lambda: saved("PNG"),
    "webp": lambda: saved("WEBP"),
    "jpeg that says where": lambda: located(),
    "jpeg with a program behind it": lambda: located() + b"PK\x03\x04" + SCRIPT * 50,
    "jpeg with a broken note": _broken_note,
    "jpeg with a large profile": lambda: saved("JPEG", icc_profile=b"qzprofile" * 30_000),
    "jpeg in four colours": lambda: saved("JPEG", drawn(mode="CMYK")),
    "grey jpeg": lambda: saved("JPEG", drawn(mode="L")),
    "two pictures in one jpeg": lambda: saved("MPO", drawn(), save_all=True, append_images=[drawn()]),
    "png with words in it": _noted,
    "png of few colours": lambda: saved("PNG", drawn().quantize(16), transparency=3),
    "png one can see through": lambda: saved("PNG", drawn(mode="RGBA")),
    "png of sixteen bits": _middle_grey,
    "webp that says where": lambda: saved("WEBP", xmp=PLACE, exif=b"Exif\x00\x00" + PLACE),
    "heic of a phone": phone,
    "two pictures in one heic": two_in_one,
    "heic with a program behind it": lambda: phone() + b"PK\x03\x04" + SCRIPT * 50,
    "wide": lambda: saved("JPEG", drawn((6000, 4000)), quality=40),
}
