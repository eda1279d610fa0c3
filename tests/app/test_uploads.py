"""One upload is limited by count and size, and what is left is said."""

from dataclasses import dataclass

from app.server import server_command
from app.services.uploads import MOST_MB, MOST_PHOTOS, accepted


@dataclass(frozen=True)
class File:
    size: int


def test_a_usual_upload_is_taken_whole():
    files = [File(4_000_000)] * 60
    assert accepted(files) == (files, None)
    assert accepted([]) == ([], None)


def test_too_many_and_too_much_are_cut_and_told():
    taken, words = accepted([File(1)] * (MOST_PHOTOS + 5))
    assert len(taken) == MOST_PHOTOS
    assert words.startswith(f"{MOST_PHOTOS} of {MOST_PHOTOS + 5} photos are taken")
    taken, words = accepted([File(100_000_000)] * 30)
    assert len(taken) == MOST_MB // 100
    assert "glostbook unload" in words


def test_a_single_file_is_limited_by_the_server():
    """Larger than any camera raw file, smaller than the memory of a small computer."""
    (limit,) = [word for word in server_command(8501) if word.startswith("--server.maxUploadSize=")]
    assert 100 <= int(limit.split("=")[1]) <= 200
