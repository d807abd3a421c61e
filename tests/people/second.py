"""The second factor computed from its standard, independently of the product."""

from __future__ import annotations

import base64
import hashlib
import hmac
import struct


def totp(secret: str, at: float, *, digits: int = 6) -> str:
    """RFC 6238 with SHA-1 and 30 s steps over RFC 4226's truncation; ``secret`` in base 32."""
    padded = secret + "=" * (-len(secret) % 8)
    mark = hmac.new(base64.b32decode(padded), struct.pack(">Q", int(at) // 30), hashlib.sha1).digest()
    start = mark[-1] & 0x0F
    number = struct.unpack(">I", mark[start : start + 4])[0] & 0x7FFFFFFF
    return str(number % 10**digits).zfill(digits)
