"""Photos: kept to the last pixel, without place, time and camera, and small on paper."""

import hashlib
import io
import struct
import zlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, PngImagePlugin

from rebuildbook.record.photo import (
    LARGEST_FILE,
    LARGEST_THUMBNAIL,
    PHOTOS,
    keep_photo,
    names_to_show,
    photo_entry,
    read_photo,
    thumbnail,
)
from rebuildbook.record.picture_parts import NotAPicture, stripped
from rebuildbook.sheets import SheetError

SECRETS = (b"Marlpit", b"Exif", b"GPS", b"ns.adobe.com", b"2026:09:21", b"Photoshop", b"SN-4711")


def noise(width=320, height=200, seed=1):
    picture = np.random.default_rng(seed).integers(0, 256, (height, width, 3), dtype=np.uint8)
    return Image.fromarray(picture)


def jpeg(orientation=1, picture=None, **more) -> bytes:
    """A JPEG with all that a camera and a desk put into one."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "Marlpit SN-4711"
    exif[0x0132] = "2026:09:21 10:00:00"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (52.0, 30.0, 12.0)
    made = io.BytesIO()
    (picture or noise()).save(
        made, "JPEG", exif=exif, comment=b"Marlpit", xmp=b"<x>ns.adobe.com Marlpit</x>", **more
    )
    photoshop = b"Photoshop 3.0\x00Marlpit"
    segment = b"\xff\xed" + struct.pack(">H", len(photoshop) + 2) + photoshop
    data = made.getvalue()
    return data[:2] + segment + data[2:] + b"trailer Marlpit"


def png(mode="RGB", **more) -> bytes:
    text = PngImagePlugin.PngInfo()
    text.add_text("Comment", "Marlpit SN-4711")
    text.add_itxt("XML:com.adobe.xmp", "ns.adobe.com Marlpit")
    exif = Image.Exif()
    exif[0x010F] = "Marlpit"
    exif[0x0112] = more.pop("orientation", 1)
    made = io.BytesIO()
    noise().convert(mode).save(made, "PNG", pnginfo=text, exif=exif, **more)
    return made.getvalue()


def pixels(data: bytes):
    with Image.open(io.BytesIO(data)) as picture:
        return np.asarray(picture.copy())


@pytest.mark.parametrize(
    "data",
    [jpeg(), jpeg(progressive=True), jpeg(quality=95, subsampling=0), png(), png("RGBA"), png("P")],
    ids=["baseline", "progressive", "fine", "png", "png-alpha", "png-palette"],
)
def test_the_picture_is_the_same_and_nothing_else_is_left(data):
    kept = stripped(data)
    assert np.array_equal(pixels(kept), pixels(data))
    assert any(secret in data for secret in SECRETS)
    assert not any(secret in kept for secret in SECRETS)
    with Image.open(io.BytesIO(kept)) as picture:
        assert not picture.getexif() and not picture.info.get("comment")
    assert stripped(kept) == kept


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("make", [jpeg, png])
def test_which_way_up_it_is_held_is_all_that_stays(make, orientation):
    with Image.open(io.BytesIO(stripped(make(orientation=orientation)))) as picture:
        exif = dict(picture.getexif())
    assert exif == ({} if orientation == 1 else {0x0112: orientation})


def test_a_colour_profile_stays():
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for data in (jpeg(icc_profile=profile), png(icc_profile=profile)):
        with Image.open(io.BytesIO(stripped(data))) as picture:
            assert picture.info["icc_profile"] == profile


def test_a_little_endian_orientation_is_read():
    entry = struct.pack("<HHIHH", 0x0112, 3, 1, 6, 0)
    exif = b"Exif\x00\x00II*\x00" + struct.pack("<IH", 8, 1) + entry + struct.pack("<I", 0)
    plain = io.BytesIO()
    noise().save(plain, "JPEG")
    data = plain.getvalue()
    data = data[:2] + b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif + data[2:]
    with Image.open(io.BytesIO(stripped(data))) as picture:
        assert picture.getexif()[0x0112] == 6


@settings(max_examples=60)
@given(cut=st.integers(0, len(jpeg()) - 20), kind=st.sampled_from([jpeg(), png()]))
def test_a_file_cut_off_anywhere_is_refused_or_shown_whole(cut, kind):
    try:
        kept = stripped(kind[:cut])
    except NotAPicture:
        return
    assert np.array_equal(pixels(kept), pixels(kind))


@settings(max_examples=100)
@given(st.binary(max_size=200), st.sampled_from([b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b""]))
def test_rubbish_is_refused_in_words(rest, start):
    with pytest.raises(NotAPicture):
        stripped(start + rest)


def test_a_png_with_a_part_that_nobody_knows_but_needs_is_refused():
    data = png()
    body = b"ZZZZ" + b"x"
    strange = struct.pack(">I", 1) + body + struct.pack(">I", zlib.crc32(body))
    with pytest.raises(NotAPicture, match="ZZZZ"):
        stripped(data[:33] + strange + data[33:])


def refused(path) -> str:
    with pytest.raises(SheetError) as problem:
        read_photo(path)
    return str(problem.value)


def test_what_is_no_photo_is_refused(tmp_path):
    for name, data, message in (
        ("text.jpg", b"not a picture", "is no JPEG and no PNG"),
        ("cut.jpg", jpeg()[:2000], "cut off"),
        ("large.jpg", b"\xff\xd8\xff" + b"\0" * LARGEST_FILE, "is over 30 MB"),
        ("gif.gif", b"GIF89a", "is no JPEG and no PNG"),
    ):
        (tmp_path / name).write_bytes(data)
        assert message in refused(tmp_path / name)
    assert "no such file" in refused(tmp_path / "gone.jpg")
    assert "is a folder" in refused(tmp_path)


def test_a_picture_that_unpacks_to_far_too_much_is_refused(tmp_path):
    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    parts = [(b"IHDR", head), (b"IDAT", zlib.compress(b"\0" * 1000)), (b"IEND", b"")]
    data = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        for name, body in parts
    )
    (tmp_path / "bomb.png").write_bytes(data)
    assert "unpacks to more than 100 million pixels" in refused(tmp_path / "bomb.png")


def test_a_photo_is_kept_once_under_its_hash(tmp_path):
    (tmp_path / "IMG_1.JPG").write_bytes(jpeg())
    photo = read_photo(tmp_path / "IMG_1.JPG")
    path = keep_photo(photo, tmp_path)
    assert path == tmp_path / PHOTOS / f"{hashlib.sha256(path.read_bytes()).hexdigest()}.jpg"
    assert photo.given == hashlib.sha256(jpeg()).hexdigest() != photo.digest
    before = path.stat()
    assert keep_photo(photo, tmp_path) == path
    assert path.stat().st_mtime_ns == before.st_mtime_ns
    assert [one.name for one in (tmp_path / PHOTOS).iterdir()] == [photo.name]


def test_a_kept_photo_that_was_changed_is_noticed(tmp_path):
    (tmp_path / "a.jpg").write_bytes(jpeg())
    photo = read_photo(tmp_path / "a.jpg")
    keep_photo(photo, tmp_path).write_bytes(b"other")
    with pytest.raises(SheetError, match="is not what its name says"):
        keep_photo(photo, tmp_path)


def test_the_entry_leads_to_the_file(bench, tmp_path):
    (tmp_path / "a.jpg").write_bytes(jpeg())
    photo = read_photo(tmp_path / "a.jpg")
    entry = photo_entry(photo, bench.case, "head-studs", "2026-09-21", "bench 1", "a.jpg")
    assert (entry.kind, entry.subject, entry.job) == ("photo", "head-studs", "TW-2602")
    assert keep_photo(photo, tmp_path).stem == entry.text
    assert entry.came_from == f"a.jpg, sha256 {photo.given}"


def test_a_photo_can_be_of_anything_on_the_model_sheet(bench):
    known = names_to_show(bench.case)
    assert known["unit"] == "the whole unit" and known["head-studs"] in {"joint", "step"}
    assert {"plungers", "plunger-1", "plug-rings", "inlet-1"} <= set(known)


@pytest.mark.parametrize("orientation", [1, 6])
def test_a_thumbnail_is_small_upright_and_alike(tmp_path, orientation):
    halves = Image.new("RGB", (1600, 900), "white")
    halves.paste((200, 30, 30), (0, 0, 800, 900))
    path = tmp_path / "a.jpg"
    path.write_bytes(stripped(jpeg(orientation, halves)))
    data = thumbnail(path)
    assert len(data) <= LARGEST_THUMBNAIL
    with Image.open(io.BytesIO(data)) as small:
        wide = small.width > small.height
        assert wide == (orientation == 1) and max(small.size) <= 480
        # turned a quarter clockwise, what was on the left is at the top
        red = small.getpixel((10, 10) if wide else (small.width - 10, 10))
        white = small.getpixel((small.width - 10, small.height - 10))
    assert red[0] > 150 and red[1] < 90 and min(white) > 200


def test_the_worst_picture_still_fits_and_what_is_seen_through_is_white(tmp_path):
    (tmp_path / "noise.jpg").write_bytes(stripped(jpeg(picture=noise(3000, 2000))))
    assert len(thumbnail(tmp_path / "noise.jpg")) <= LARGEST_THUMBNAIL
    made = io.BytesIO()
    Image.new("RGBA", (50, 50), (0, 0, 0, 0)).save(made, "PNG")
    (tmp_path / "clear.png").write_bytes(made.getvalue())
    with Image.open(io.BytesIO(thumbnail(tmp_path / "clear.png"))) as small:
        assert min(small.getpixel((25, 25))) > 250


def test_a_thumbnail_of_no_picture_is_refused(tmp_path):
    (tmp_path / "a.jpg").write_bytes(b"no")
    with pytest.raises(SheetError, match="cannot be shown"):
        thumbnail(tmp_path / "a.jpg")
