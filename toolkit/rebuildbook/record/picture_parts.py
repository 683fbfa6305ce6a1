"""Take out of a picture file all that is not the picture: where, when and with what it was taken.

Nothing is decoded: the coded picture is the same to the last byte, and only the parts beside it
go. Formats: JPEG segments by ITU-T T.81 (1992) annex B, PNG chunks by the W3C PNG specification,
EXIF orientation (tag 0x0112) by CIPA DC-008; all from memory.
"""

from __future__ import annotations

import struct
import zlib
from typing import Literal

Form = Literal["jpeg", "png"]
PNG = b"\x89PNG\r\n\x1a\n"
JPEG = b"\xff\xd8\xff"
_START_OF_SCAN, _END = 0xDA, 0xD9
_ALONE = {0x01, *range(0xD0, 0xD8)}  # markers without a length
# JFIF and which colour transform belong to the picture, a colour profile to its look
_KEPT_APP = {0xE0, 0xEE}
_PROFILE = b"ICC_PROFILE\x00"
_ORIENTATION = 0x0112
# what a decoder needs, or what says how the colours are meant
_KEPT_CHUNKS = {
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT",
    b"pHYs", b"bKGD",
}  # fmt: skip


class NotAPicture(ValueError):  # noqa: N818  (an answer to the one who gave the file)
    """A file that is no whole JPEG or PNG."""


def form_of_picture(data: bytes) -> Form:
    """Tell a JPEG from a PNG by how it begins; raises NotAPicture for anything else."""
    if data.startswith(JPEG):
        return "jpeg"
    if data.startswith(PNG):
        return "png"
    raise NotAPicture("is no JPEG and no PNG picture")


def stripped(data: bytes) -> bytes:
    """Give the picture without its metadata; only which way up it is held is kept.

    Raises NotAPicture for a file that is cut off or otherwise not what it begins as. What stands
    behind the end of the picture goes too.
    """
    return _jpeg(data) if form_of_picture(data) == "jpeg" else _png(data)


def _jpeg(data: bytes) -> bytes:
    kept, orientation, at = [], 1, 2
    while True:
        if at + 4 > len(data) or data[at] != 0xFF:
            raise NotAPicture("is a JPEG that is cut off or broken")
        marker = data[at + 1]
        if marker == 0xFF:  # fill byte
            at += 1
            continue
        if marker in _ALONE:
            at += 2
            continue
        (length,) = struct.unpack_from(">H", data, at + 2)
        segment = data[at : at + 2 + length]
        if length < 2 or len(segment) < 2 + length or marker == _END:
            raise NotAPicture("is a JPEG that is cut off or broken")
        if marker == _START_OF_SCAN:
            break
        if marker == 0xE1 and segment[4:10] == b"Exif\x00\x00":
            orientation = _orientation(segment[10:])
        if _is_kept(marker, segment):
            kept.append(segment)
        at += 2 + length
    scans = data[at : _end_of_scans(data, at)]
    way_up = [] if orientation == 1 else [_orientation_segment(orientation)]
    head = 1 if kept and kept[0][1] == 0xE0 else 0  # JFIF comes first
    return b"".join([b"\xff\xd8", *kept[:head], *way_up, *kept[head:], scans])


def _is_kept(marker: int, segment: bytes) -> bool:
    if marker == 0xE0:
        return segment[4:9] == b"JFIF\x00" and len(segment) == 18  # longer ones hold a thumbnail
    if marker == 0xE2:
        return segment[4:].startswith(_PROFILE)
    return marker in _KEPT_APP or not (0xE0 <= marker <= 0xEF or marker == 0xFE)


def _end_of_scans(data: bytes, at: int) -> int:
    """Find the end marker: scans and the tables between them; a thumbnail behind it is cut off."""
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            raise NotAPicture("is a JPEG that is cut off: its end is not there")
        marker = data[at + 1]
        if marker == _END:
            return at + 2
        if marker in {0x00, 0xFF} or marker in _ALONE:
            at += 1 if marker == 0xFF else 2
        elif 0xE0 <= marker <= 0xEF or marker == 0xFE:
            raise NotAPicture("is a JPEG with metadata between its scans, which is not taken")
        else:
            if at + 4 > len(data):
                raise NotAPicture("is a JPEG that is cut off: its end is not there")
            at += 2 + int(struct.unpack_from(">H", data, at + 2)[0])


def _orientation(exif: bytes) -> int:
    """Read the orientation from the first directory of EXIF; 1 (as it is) where it has none."""
    order = {b"II": "<", b"MM": ">"}.get(exif[:2])
    try:
        if order is None:
            return 1
        (start,) = struct.unpack_from(f"{order}I", exif, 4)
        (count,) = struct.unpack_from(f"{order}H", exif, start)
        for place in range(count):
            tag, kind, number, value = struct.unpack_from(
                f"{order}HHIH", exif, start + 2 + 12 * place
            )
            if tag == _ORIENTATION and kind == 3 and number == 1:
                return value if 1 <= value <= 8 else 1
    except struct.error:
        return 1
    return 1


def _exif(orientation: int) -> bytes:
    """EXIF that holds the orientation and nothing else."""
    entry = struct.pack(">HHIHH", _ORIENTATION, 3, 1, orientation, 0)
    return b"MM\x00*" + struct.pack(">IH", 8, 1) + entry + struct.pack(">I", 0)


def _orientation_segment(orientation: int) -> bytes:
    exif = b"Exif\x00\x00" + _exif(orientation)
    return b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif


def _png(data: bytes) -> bytes:
    kept, at = [PNG], len(PNG)
    while True:
        if at + 12 > len(data):
            raise NotAPicture("is a PNG that is cut off: its end is not there")
        length, name = struct.unpack_from(">I4s", data, at)
        end = at + 12 + length
        if end > len(data):
            raise NotAPicture("is a PNG that is cut off")
        if name in _KEPT_CHUNKS:
            kept.append(data[at:end])
        elif name == b"eXIf":
            way_up = _orientation(data[at + 8 : end - 4])
            kept += [] if way_up == 1 else [_chunk(name, _exif(way_up))]
        elif name[0] & 0x20 == 0:  # a capital first letter: the picture cannot be shown without it
            raise NotAPicture(f"is a PNG with a part {name.decode('latin-1')} that is not known")
        if name == b"IEND":
            return b"".join(kept)
        at = end


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
