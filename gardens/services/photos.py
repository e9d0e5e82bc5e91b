"""Photos: bytes that come in pieces, are looked at hard, and are kept without anything that tells where they were taken."""

from __future__ import annotations

import fcntl
import hashlib
import io
import os
import time
import uuid
import warnings
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from django.conf import settings
from django.core.files.base import ContentFile
from django.db import transaction
from PIL import Image, ImageFile, ImageOps

from business.errors import BadInput, Fault
from business.models import Staff
from gardens.models import Photo

KINDS = ("JPEG", "PNG", "WEBP", "HEIF")
"""HEIF is what many phones call HEIC (ISO/IEC 23008-12)."""
MOST_PIXELS = 60_000_000
LONG_SIDE = 1600
SMALL_SIDE = 240
QUALITY = 82
LARGEST_BYTES = 15 * 1024 * 1024
LEFTOVER_SECONDS = 24 * 3600


@dataclass(frozen=True, kw_only=True)
class Upload:
    """How far a photo has come: bytes we hold of it, and whether it is complete and kept."""

    have: int
    is_here: bool


def upload_state(*, digest: str, by: Staff) -> Upload:
    """What we hold of a photo.

    Raises:
        BadInput: nobody told us of such a photo, or its bytes were refused before.
    """
    photo = _announced(digest, by)
    if photo.is_here:
        return Upload(have=0, is_here=True)
    part = _part(digest)
    return Upload(have=part.stat().st_size if part.exists() else 0, is_here=False)


def take_piece(*, digest: str, offset: int, total: int, piece: bytes, by: Staff) -> Upload:
    """Add a piece at its place. A piece we have already changes nothing; the last one makes the photo.

    Raises:
        BadInput: the photo is unknown, too large, or its bytes are not the photo they say they are.
    """
    photo = _announced(digest, by)
    if photo.is_here:
        return Upload(have=total, is_here=True)
    if not 0 < total <= LARGEST_BYTES or offset + len(piece) > total:
        raise BadInput([Fault("photo", f"is {total} bytes", f"send up to {LARGEST_BYTES} bytes")])
    part = _part(digest)
    part.parent.mkdir(parents=True, exist_ok=True)
    if offset == 0:
        # Whoever begins a photo clears away what others left unfinished.
        sweep_leftovers()
    with part.open("ab") as file:
        # Two requests with the same piece: the second waits, then finds it is there already.
        fcntl.flock(file, fcntl.LOCK_EX)
        have = part.stat().st_size
        if offset == have:
            file.write(piece)
            file.flush()
            os.fsync(file.fileno())
            have += len(piece)
    if have < total:
        return Upload(have=have, is_here=False)
    data = part.read_bytes()
    if hashlib.sha256(data).hexdigest() != digest:
        part.unlink(missing_ok=True)
        return Upload(have=0, is_here=False)
    _keep(digest, data)
    part.unlink(missing_ok=True)
    return Upload(have=total, is_here=True)


def sweep_leftovers(*, now: float | None = None) -> int:
    """Remove pieces nobody went on with for a day; tells how many."""
    folder, limit = _folder(), (now or time.time()) - LEFTOVER_SECONDS
    old = [path for path in folder.glob("*.part") if path.stat().st_mtime < limit] if folder.exists() else []
    for path in old:
        path.unlink(missing_ok=True)
    return len(old)


def _folder() -> Path:
    return Path(settings.VAR) / "photo-pieces"


def _part(digest: str) -> Path:
    return _folder() / f"{digest}.part"


def _announced(digest: str, by: Staff) -> Photo:
    photos = Photo.objects.filter(digest=digest)
    photo = photos.filter(made_by=by).first() or photos.first()
    if photo is None:
        raise BadInput([Fault("photo", "was not announced", "send the act that names it first")])
    if photo.refused:
        raise BadInput([Fault("photo", photo.refused, "take the picture again")])
    return photo


@dataclass(frozen=True, kw_only=True)
class Developed:
    """A photo as it is kept: upright, small enough, with nothing in it but pixels."""

    large: bytes
    small: bytes
    width_px: int
    height_px: int


def develop(data: bytes) -> Developed:
    """Decode, turn upright and write anew; the bytes as they came are never kept.

    Raises:
        BadInput: not a photo we can read, or more pixels than any camera of a phone makes.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            _read_heif()
            # The PDF library, once imported, makes the decoder accept half a photo and paint the rest grey.
            ImageFile.LOAD_TRUNCATED_IMAGES = False
            image: Image.Image = Image.open(io.BytesIO(data), formats=KINDS)
            if image.width * image.height > MOST_PIXELS:
                raise _not_ours("has too many pixels")
            image.draft("RGB", (2 * LONG_SIDE, 2 * LONG_SIDE))
            upright = ImageOps.exif_transpose(image).convert("RGB")
            return _written(upright)
    except BadInput:
        raise
    except Exception as error:  # a decoder facing strangers may raise anything
        raise _not_ours("is not a photo we can read") from error


@cache
def _read_heif() -> None:
    """Teach the decoder HEIF. On first use: its library is large, and most processes never see a photo."""
    from pillow_heif import register_heif_opener

    register_heif_opener(thumbnails=False)


def _written(upright: Image.Image) -> Developed:
    upright.thumbnail((LONG_SIDE, LONG_SIDE))
    # A fresh picture made of the pixels alone: no EXIF, no colour profile, no comment, no thumbnail comes along.
    clean = Image.frombytes("RGB", upright.size, upright.tobytes())
    large, small = io.BytesIO(), io.BytesIO()
    clean.save(large, "JPEG", quality=QUALITY, exif=b"")
    thumb = clean.copy()
    thumb.thumbnail((SMALL_SIDE, SMALL_SIDE))
    thumb.save(small, "JPEG", quality=70, exif=b"")
    return Developed(large=large.getvalue(), small=small.getvalue(), width_px=clean.width, height_px=clean.height)


def _not_ours(words: str) -> BadInput:
    return BadInput([Fault("photo", words, "take it again with the camera, as JPEG")])


def _keep(digest: str, data: bytes) -> None:
    try:
        made = develop(data)
    except BadInput as refusal:
        Photo.objects.filter(digest=digest, file="").update(refused=refusal.faults[0].wrong)
        raise
    with transaction.atomic():
        for photo in Photo.objects.select_for_update().filter(digest=digest, file=""):
            name = uuid.uuid4().hex
            # A random name: an address that can be guessed is an address that is tried.
            photo.file.save(f"{name}.jpg", ContentFile(made.large), save=False)
            photo.small.save(f"{name}-small.jpg", ContentFile(made.small), save=False)
            photo.width_px, photo.height_px = made.width_px, made.height_px
            photo.save(update_fields=["file", "small", "width_px", "height_px"])


PAPER_SIDE = LONG_SIDE // 2
"""Long side of a photo on paper [px]: 250 dots per inch at 8 cm. Half of what we keep: the decoder of JPEG halves while
it decodes, for a tenth of what scaling costs."""


def paper_copy(photo: Photo, *, side: int = PAPER_SIDE) -> bytes:
    """A light copy of a photo that is here, for a paper.

    Raises:
        BadInput: its file is gone, cannot be read, or has more pixels than any camera makes.
    """
    try:
        with photo.file.open("rb") as file, warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            ImageFile.LOAD_TRUNCATED_IMAGES = False
            image = Image.open(file, formats=("JPEG",))
            if image.width * image.height > MOST_PIXELS:
                raise _no_copy(photo, "has too many pixels")
            shrink = max(1.0, max(image.size) / side)
            image.draft("RGB", (int(image.width / shrink), int(image.height / shrink)))
            image.thumbnail((side, side))
            out = io.BytesIO()
            image.convert("RGB").save(out, "JPEG", quality=76)
    except BadInput:
        raise
    except FileNotFoundError as error:
        raise _no_copy(photo, "is gone") from error
    except Exception as error:  # a decoder facing damaged bytes may raise anything
        raise _no_copy(photo, "cannot be read") from error
    return out.getvalue()


def _no_copy(photo: Photo, words: str) -> BadInput:
    return BadInput([Fault(f"photo {photo.uid}", words, "look at it, and take it again on the next visit")])
