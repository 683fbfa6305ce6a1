"""Photos of a job: kept without their metadata under the hash of what is kept."""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageOps

from rebuildbook.record.entry import Entry
from rebuildbook.record.picture_parts import NotAPicture, form_of_picture, stripped
from rebuildbook.record.whole_file import write_whole
from rebuildbook.sheets import Case, Problem, SheetError

PHOTOS = "photos"  # beside the ledger
LARGEST_FILE = 30_000_000  # bytes
MOST_PIXELS = 100_000_000
_TOO_MANY = f"unpacks to more than {MOST_PIXELS // 1_000_000} million pixels"
LARGEST_THUMBNAIL = 12_000  # bytes
_SIDES = (480, 400, 320, 240, 160, 96)  # pixels of the longer side, tried in turn
_QUALITIES = (70, 55, 40, 25)
_ENDING = {"jpeg": ".jpg", "png": ".png"}


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo fit to keep: its bytes without metadata, their hash, the hash of the file given."""

    data: bytes
    digest: str
    given: str
    ending: str
    size: tuple[int, int]

    @property
    def name(self) -> str:
        """Its file name among the photos."""
        return self.digest + self.ending


def read_photo(path: Path) -> Photo:
    """Read a picture and take its metadata off; raises SheetError for what is not fit to keep."""

    def refuse(message: str) -> SheetError:
        return SheetError([Problem(str(path), None, "", "", message)])

    try:
        if path.is_dir():
            raise refuse("is a folder; wanted a picture")
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise refuse(f"cannot be read: {(error.strerror or str(error)).lower()}") from None
    if len(raw) > LARGEST_FILE:
        raise refuse(f"is over {LARGEST_FILE / 1e6:.0f} MB")
    try:
        data = stripped(raw)
        with _opened(data) as picture:
            size = picture.size
            picture.load()
    except NotAPicture as problem:
        raise refuse(str(problem)) from None
    except Exception as error:  # a decoder raises what it meets
        reason = " ".join(str(error).split())[:200]
        raise refuse(f"cannot be shown as a picture: {reason}") from None
    digest = hashlib.sha256(data).hexdigest()
    ending = _ENDING[form_of_picture(data)]
    return Photo(data, digest, hashlib.sha256(raw).hexdigest(), ending, size)


def keep_photo(photo: Photo, folder: Path) -> Path:
    """Put a photo among those beside the ledger in ``folder``; one that is there stays as it is."""
    path = folder / PHOTOS / photo.name
    try:
        write_whole(path, photo.data)
    except FileExistsError:
        if path.read_bytes() != photo.data:
            message = "is there already and is not what its name says: its hash is another"
            raise SheetError([Problem(str(path), None, "", "", message)]) from None
    return path


def photo_entry(photo: Photo, case: Case, of: str, on: str, by: str, given_name: str) -> Entry:
    """Make the entry that puts a photo on record: its text is the hash of what is kept.

    Where it came from tells the hash of the file that was given, with its metadata.
    """
    job, came_from = case.job, f"{given_name}, sha256 {photo.given}"
    return Entry(
        job.serial,
        job.job,
        "photo",
        of,
        on=on,
        by=by,
        came_from=came_from,
        text=photo.digest,
    )


def names_to_show(case: Case) -> dict[str, str]:
    """What a photo can be of, and what kind of thing that is on the model sheet."""
    model = case.model
    groups = (
        ("step", model.assembly),
        ("part", model.parts),
        ("joint", model.joints),
        ("wear limit", model.wear_limits),
        ("seal", model.seals),
        ("check valve", model.check_valves),
        ("pressure part", model.pressure_parts),
    )
    found: dict[str, str] = {"unit": "the whole unit"}
    for kind, names in groups:
        for name in names:
            found.setdefault(name, kind)
    return found


def thumbnail(path: Path) -> bytes:
    """Give a small JPEG of a kept photo, the right way up, of at most 12 kB.

    Raises SheetError for a file that cannot be shown.
    """
    try:
        with _opened(path.read_bytes()) as picture:
            picture.draft("RGB", (_SIDES[0], _SIDES[0]))  # a JPEG decodes at a fraction
            turned = ImageOps.exif_transpose(picture)
            small = _on_white(turned)
            small.thumbnail((_SIDES[0], _SIDES[0]))
    except Exception as error:  # a decoder raises what it meets
        reason = " ".join(str(error).split())[:200]
        raise SheetError([Problem(str(path), None, "", "", f"cannot be shown: {reason}")]) from None
    for side in _SIDES:
        small.thumbnail((side, side))
        for quality in _QUALITIES:
            made = io.BytesIO()
            small.save(made, "JPEG", quality=quality, optimize=True)
            if made.tell() <= LARGEST_THUMBNAIL:
                return made.getvalue()
    raise SheetError([Problem(str(path), None, "", "", "cannot be made small enough")])


def _on_white(picture: Image.Image) -> Image.Image:
    """Plain colours; what is seen through is white, as on paper."""
    if picture.mode in {"RGBA", "LA", "PA"} or "transparency" in picture.info:
        through = picture.convert("RGBA")
        white = Image.new("RGBA", through.size, "white")
        return Image.alpha_composite(white, through).convert("RGB")
    return picture.convert("RGB")


def _opened(data: bytes) -> Image.Image:
    """Open a picture, but for one that would unpack to more than a workshop's camera takes."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            picture = Image.open(io.BytesIO(data), formats=("JPEG", "PNG"))
        except Image.DecompressionBombError:
            raise NotAPicture(_TOO_MANY) from None
    width, height = picture.size
    if width * height > MOST_PIXELS:
        raise NotAPicture(_TOO_MANY)
    return picture
