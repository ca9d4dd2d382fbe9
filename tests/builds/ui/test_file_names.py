"""What a builder reads of a picture whose file name is all there is."""

import pytest

from builds.ui.file_names import words_in_name


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("chassis-underside.jpg", "Chassis underside"),
        ("V1_socket wired.png", "V1 socket wired"),
        ("Röhrenfassung.webp", "Röhrenfassung"),
        ("top.view.2.jpg", "Top view 2"),
    ],
)
def test_the_words_of_a_file_name_are_read(name, shown):
    assert words_in_name(name) == shown


@pytest.mark.parametrize("name", ["IMG_2041.JPG", "DSC00012.jpg", "pasted-3.png", "20260101_101500.jpg", "p1.jpg", "1"])
def test_a_name_that_a_camera_gave_has_no_words(name):
    assert words_in_name(name) == ""
