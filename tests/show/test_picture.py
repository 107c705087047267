"""What a finished picture offers: display, words, saving."""

from base64 import b64decode

import pytest

from femkit.errors import RecordError
from femkit.show import Picture
from femkit.show.picture import place_words

PNG = b"\x89PNG\r\n\x1a\n and so on"


def test_notebooks_get_the_bytes_and_the_words():
    data, more = Picture(PNG, "a wall")._repr_mimebundle_()
    assert b64decode(data["image/png"]) == PNG and "a wall" in data["text/plain"]
    assert more["image/png"]["alt"] == "a wall"


def test_words_from_the_user_are_escaped_in_html():
    data = Picture(None, "<script>x</script>", fault="no & no")._repr_mimebundle_()
    assert "<script>" not in data["text/html"] and "no &amp; no" in data["text/html"]


def test_saving_replaces_the_old_file_whole(tmp_path):
    path = tmp_path / "wall.png"
    path.write_bytes(b"old")
    assert Picture(PNG, "a wall").save(path) == path
    assert path.read_bytes() == PNG and [p.name for p in tmp_path.iterdir()] == ["wall.png"]


@pytest.mark.parametrize("name, words", [("wall.jpg", "written as .png"), ("none/wall.png", "does not exist")])
def test_saving_elsewhere_is_refused(tmp_path, name, words):
    with pytest.raises(RecordError, match=words):
        Picture(PNG, "a wall").save(tmp_path / name)


def test_places_have_no_negative_zero():
    assert place_words((-1e-9, 0.04, -20), 500) == "(0.0, 0.0, −20.0) mm"
