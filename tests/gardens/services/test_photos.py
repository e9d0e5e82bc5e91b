"""Photos: pieces in any order, nothing of the place kept, nothing that is no photo let in."""

from __future__ import annotations

import hashlib
import io
import os
import struct
import time
import zlib

import pytest
from PIL import ExifTags, Image, JpegImagePlugin, PngImagePlugin

from business.errors import BadInput
from gardens.models import Photo
from gardens.services.photos import develop, sweep_leftovers, take_piece, upload_state
from tests import make_garden
from tests.make_garden import utc

ROTATED = 6  # Exif 2.32, tag Orientation: the camera was turned, 90° clockwise puts it upright


def camera_picture(size: tuple[int, int] = (2400, 1200)) -> bytes:
    """A JPEG as a phone writes it: turned, with the place in it."""
    image = Image.new("RGB", size, "white")
    image.paste((0, 120, 0), (0, 0, size[0] // 4, size[1]))
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = ROTATED
    exif[ExifTags.Base.Model] = "Some camera"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (51.0, 1.0, 52.0)
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif)
    return out.getvalue() + b"<script>leftover()</script>"


def heic_picture(size: tuple[int, int] = (1200, 900)) -> bytes:
    """A HEIC as phones write it: HEVC inside, with the camera and the place in its Exif block."""
    from pillow_heif import from_pillow

    image = Image.new("RGB", size, "white")
    image.paste((0, 120, 0), (0, 0, size[0] // 4, size[1]))
    exif = Image.Exif()
    exif[ExifTags.Base.Model] = "Some camera"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (51.0, 1.0, 52.0)
    out = io.BytesIO()
    from_pillow(image).save(out, quality=60, exif=exif.tobytes())
    return out.getvalue()


def announced(data: bytes, **values: object) -> Photo:
    tree = make_garden.tree()
    digest = hashlib.sha256(data).hexdigest()
    return Photo.objects.create(site=tree.site, tree=tree, digest=digest, taken_at=utc(2025, 1, 14), **values)


def test_a_photo_is_kept_upright_small_and_bare():
    made = develop(camera_picture())
    image = Image.open(io.BytesIO(made.large))
    assert isinstance(image, JpegImagePlugin.JpegImageFile)
    assert (image.width, image.height) == (800, 1600) == (made.width_px, made.height_px)
    assert not image.getexif()
    assert b"Some camera" not in made.large
    assert b"script" not in made.large
    # What was on the left of the sensor is on top now.
    assert image.getpixel((400, 100))[1] > image.getpixel((400, 100))[0] + 50
    assert image.getpixel((400, 1500))[0] > 240
    assert max(Image.open(io.BytesIO(made.small)).size) == 240


def test_a_heic_is_kept_as_a_bare_jpeg():
    data = heic_picture()
    # ISO/IEC 14496-12 file type box; 23008-12 brand of HEVC still pictures.
    assert data[4:12] == b"ftypheic"
    assert b"Some camera" in data
    made = develop(data)
    image = Image.open(io.BytesIO(made.large))
    assert isinstance(image, JpegImagePlugin.JpegImageFile)
    assert (image.width, image.height) == (1200, 900) == (made.width_px, made.height_px)
    assert not image.getexif()
    assert b"Some camera" not in made.large + made.small
    assert image.getpixel((60, 450))[1] > image.getpixel((60, 450))[0] + 50
    assert image.getpixel((1000, 450))[0] > 240


def bomb() -> bytes:
    """A PNG of 30 000 × 30 000 pixels in a few hundred bytes (PNG, ISO/IEC 15948: IHDR gives the size)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 30_000, 30_000, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 99)) + chunk(b"IEND", b"")


def other_kinds() -> dict[str, bytes]:
    gif = io.BytesIO()
    Image.new("RGB", (9, 9)).save(gif, "GIF")
    return {
        "bomb": bomb(),
        "gif": gif.getvalue(),
        "half": camera_picture()[:900],
        "half heic": heic_picture()[:900],
        "svg": b'<svg xmlns="http://www.w3.org/2000/svg"/>',
        "pdf": b"%PDF-1.7\n%%EOF",
        "nothing": b"",
        "html": b"<html>",
    }


@pytest.mark.parametrize("kind", sorted(other_kinds()))
def test_what_is_no_photo_is_refused(kind):
    with pytest.raises(BadInput):
        develop(other_kinds()[kind])


def test_a_png_loses_its_words_too():
    words, out = PngImagePlugin.PngInfo(), io.BytesIO()
    words.add_text("Location", "51.03, -2.80")
    Image.new("RGBA", (50, 40), "red").save(out, "PNG", pnginfo=words)
    assert b"51.03" not in develop(out.getvalue()).large


@pytest.mark.django_db
def test_pieces_are_taken_up_where_they_stopped(crew):
    data = camera_picture()
    photo = announced(data)
    ask = {"digest": photo.digest, "total": len(data), "by": crew}
    half = len(data) // 2
    assert take_piece(offset=0, piece=data[:half], **ask).have == half
    assert not Photo.objects.get().is_here
    assert upload_state(digest=photo.digest, by=crew).have == half
    assert take_piece(offset=0, piece=data[:half], **ask).have == half
    assert take_piece(offset=half + 7, piece=data[half + 7 :], **ask).have == half
    assert take_piece(offset=half, piece=data[half:], **ask).is_here
    kept = Photo.objects.get()
    assert (kept.is_here, kept.width_px, kept.height_px) == (True, 800, 1600)
    assert take_piece(offset=0, piece=data, **ask).is_here
    assert sweep_leftovers(now=time.time() + 10**6) == 0


@pytest.mark.django_db
def test_bytes_that_are_not_what_they_say_start_again(crew):
    data = camera_picture()
    photo = announced(data)
    wrong = bytes([data[0] ^ 1]) + data[1:]
    told = take_piece(digest=photo.digest, offset=0, total=len(data), piece=wrong, by=crew)
    assert (told.have, told.is_here) == (0, False)
    assert take_piece(digest=photo.digest, offset=0, total=len(data), piece=data, by=crew).is_here


@pytest.mark.django_db
def test_a_photo_nobody_told_of_is_declined(crew):
    with pytest.raises(BadInput, match="not announced"):
        take_piece(digest="0" * 64, offset=0, total=3, piece=b"abc", by=crew)


@pytest.mark.django_db
def test_bytes_that_cannot_be_kept_are_remembered(crew):
    data = other_kinds()["svg"]
    photo = announced(data)
    for _ in range(2):
        with pytest.raises(BadInput, match="photo we can read"):
            take_piece(digest=photo.digest, offset=0, total=len(data), piece=data, by=crew)
    assert Photo.objects.get().refused


@pytest.mark.django_db
def test_leftover_pieces_are_swept_after_a_day(crew, settings):
    data = camera_picture()
    photo = announced(data)
    take_piece(digest=photo.digest, offset=0, total=len(data), piece=data[:100], by=crew)
    assert sweep_leftovers() == 0
    (part,) = (settings.VAR / "photo-pieces").iterdir()
    os.utime(part, (time.time() - 90_000, time.time() - 90_000))
    assert sweep_leftovers() == 1
