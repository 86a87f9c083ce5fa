"""The camera over the table, against the projection of OpenCV, which shares nothing with ours."""

import cv2
import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.lift.photocamera import Camera, from_homography, rotation
from rooms.every import cases


def camera(seed, k1=-0.05, k2=0.01):
    dice = np.random.default_rng(seed)
    down = np.diag([1.0, -1.0, -1.0])
    turn = rotation(dice.normal(0, 0.2, 3)) @ down
    ahead = turn[2]
    place = np.array([200.0, 150.0, 0.0]) - ahead / -ahead[2] * dice.uniform(500, 1500) + [0, 0, 0]
    return Camera(3000.0, np.array([2000.0, 1500.0]) + dice.normal(0, 20, 2), k1, k2, turn, place)


@cases("seed", range(6))
def test_a_place_is_seen_where_the_library_sees_it(seed):
    ours = camera(seed)
    dice = np.random.default_rng(seed + 100)
    places, z = dice.uniform((0, 0), (400, 300), (50, 2)), 3.0
    inner = np.array([[ours.focal_px, 0, ours.centre_px[0]], [0, ours.focal_px, ours.centre_px[1]], [0, 0, 1]])
    theirs, _ = cv2.projectPoints(
        np.column_stack([places, np.full(50, z)]), cv2.Rodrigues(ours.turn)[0], -ours.turn @ ours.place_mm, inner,
        np.array([ours.k1, ours.k2, 0.0, 0.0]),
    )  # fmt: skip
    assert ours.seen_px(places, z) == pytest.approx(theirs.reshape(-1, 2), abs=1e-6)


@cases("seed", range(6))
def test_a_pixel_looks_at_the_place_that_is_seen_there(seed):
    ours = camera(seed)
    places = np.random.default_rng(seed).uniform((0, 0), (400, 300), (50, 2))
    for z in (0.0, 5.0):
        assert ours.places_mm(ours.seen_px(places, z), z) == pytest.approx(places, abs=1e-8)


def test_a_camera_is_found_from_its_homography():
    true = camera(3, 0.0, 0.0)
    paper = np.array([[0, 0], [400, 0], [400, 300], [0, 300.0]])
    matrix, _ = cv2.findHomography(paper, true.seen_px(paper))
    turn, place = from_homography(matrix, true.focal_px, true.centre_px)
    assert turn == pytest.approx(true.turn, abs=1e-5)
    assert place == pytest.approx(true.place_mm, abs=0.01)


def test_a_mirrored_photo_is_no_view_from_above():
    true = camera(3, 0.0, 0.0)
    paper = np.array([[0, 0], [400, 0], [400, 300], [0, 300.0]])
    matrix, _ = cv2.findHomography(paper, (4000.0, 0.0) + true.seen_px(paper) * (-1.0, 1.0))
    with pytest.raises(GeometryError):
        from_homography(matrix, true.focal_px, np.array([2000.0, 1500.0]))


def test_a_lens_that_folds_the_picture_is_refused():
    bent = camera(1, -0.9, 0.0)
    with pytest.raises(GeometryError, match="bends too much"):
        bent.places_mm(np.array([[0.0, 0.0]]))


def test_tilt_and_height_are_those_of_the_camera():
    straight = Camera(3000.0, np.array([2000.0, 1500.0]), 0.0, 0.0, np.diag([1.0, -1.0, -1.0]), np.array([0, 0, 900.0]))
    assert (straight.tilt_deg, straight.height_mm) == (0.0, 900.0)
    aside = Camera(3000.0, straight.centre_px, 0.0, 0.0, rotation(np.array([np.radians(20), 0, 0])) @ straight.turn,
                   straight.place_mm)  # fmt: skip
    assert aside.tilt_deg == pytest.approx(20.0)
