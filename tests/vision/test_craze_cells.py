"""Direction and cells of nets whose every line is known: Voronoi and circular statistics are scipy's."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from scipy.spatial import Voronoi
from scipy.stats import directional_stats
from skimage.morphology import skeletonize

from vision.craze_cells import axial_mean, cell_quartiles_px, line_angles, net_direction
from vision.craze_net import Net
from vision.settings import CrazingSettings

SETTINGS = CrazingSettings()
SIDE = 700


def voronoi_net(cell_px, *, stretch=1.0, turn_deg=0.0, missing=0.0, seed=1):
    """A net over a square, its seeds jittered on a grid, then stretched and turned; and its true numbers.

    Gives the net, mean axis and resultant of its lines by their exact ends, and its cells' exact sizes.
    """
    rng = np.random.default_rng(seed)
    reach = 2 * SIDE
    grid = np.arange(-reach, reach, cell_px)
    seeds = np.stack(np.meshgrid(grid, grid), axis=-1).reshape(-1, 2) + rng.normal(
        scale=0.3 * cell_px, size=(len(grid) ** 2, 2)
    )
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    # anticlockwise as seen: rows run downwards
    shape = np.array([[c, s], [-s, c]]) @ np.diag([np.sqrt(stretch), 1 / np.sqrt(stretch)])
    near = np.abs(seeds @ shape.T).max(axis=1) < SIDE
    net = Voronoi(seeds[near])
    corners = net.vertices @ shape.T + SIDE / 2
    ink = np.zeros((SIDE, SIDE), np.uint8)
    ends = []
    for a, b in net.ridge_vertices:
        if a < 0 or b < 0 or rng.random() < missing:
            continue
        line = np.stack([corners[a], corners[b]])
        cv2.polylines(ink, [np.rint(line * 16).astype(np.int32)], False, 1, 1, cv2.LINE_8, 4)
        if (np.abs(line - SIDE / 2) < SIDE / 2).all():
            ends.append(line)
    steps = np.array([line[1] - line[0] for line in ends])
    degrees = np.degrees(np.arctan2(-steps[:, 1], steps[:, 0])) % 180
    sizes = []
    for region in net.regions:
        if region and min(region) >= 0:
            polygon = corners[region]
            if (np.abs(polygon - SIDE / 2) < SIDE / 2 - 4).all():
                sizes.append(np.sqrt(cv2.contourArea(polygon.astype(np.float32))))
    domain = np.zeros((SIDE, SIDE), bool)
    domain[4:-4, 4:-4] = True
    skeleton = skeletonize(ink > 0) & domain
    return Net(skeleton, domain, ink.astype(np.float32), 1.0), (degrees, np.hypot(*steps.T)), np.array(sizes)


def test_axial_mean_is_scipys_directional_mean_of_doubled_angles():
    degrees = np.random.default_rng(2).vonmises(0.6, 1.2, 500) * 90 / np.pi % 180
    doubled = np.radians(2 * degrees)
    published = directional_stats(np.stack([np.cos(doubled), np.sin(doubled)], axis=1))
    mean, strength = axial_mean(degrees, np.ones(len(degrees)))
    assert strength == pytest.approx(float(published.mean_resultant_length))
    x, y = published.mean_direction
    assert mean == pytest.approx(float(np.degrees(np.arctan2(y, x)) / 2 % 180))


@pytest.mark.parametrize("angle", [0.0, 20.0, 45.0, 70.0, 90.0, 150.0])
def test_parallel_lines_run_one_way(angle):
    y, x = np.mgrid[0:SIDE, 0:SIDE]
    across = -np.sin(np.radians(angle)) * x - np.cos(np.radians(angle)) * y
    ink = np.abs((across + 1000.25) % 40 - 20) < 0.75
    net = Net(skeletonize(ink), np.ones_like(ink), ink.astype(np.float32), 1.0)
    direction = net_direction(net, SETTINGS)
    assert abs((direction.degrees - angle + 90) % 180 - 90) < 2.0
    assert direction.strength > 0.9
    assert max(direction.shares) > 0.4


@pytest.mark.parametrize("turn_deg", [0.0, 35.0, 90.0, 140.0])
@pytest.mark.parametrize("stretch", [1.8, 3.0])
def test_direction_of_a_stretched_net(turn_deg, stretch):
    net, (degrees, length), _ = voronoi_net(45.0, stretch=stretch, turn_deg=turn_deg)
    true_mean, true_strength = axial_mean(degrees, length)
    direction = net_direction(net, SETTINGS)
    assert abs((direction.degrees - true_mean + 90) % 180 - 90) < 4.0
    assert abs((true_mean - turn_deg + 90) % 180 - 90) < 8.0
    assert direction.strength == pytest.approx(true_strength, abs=0.1)
    shares, _ = np.histogram(degrees, bins=12, range=(0, 180), weights=length)
    assert np.array(direction.shares) == pytest.approx(shares / shares.sum(), abs=0.06)


def test_an_even_net_has_no_direction_and_a_bare_one_none():
    net, _, _ = voronoi_net(40.0)
    assert net_direction(net, SETTINGS).strength < 0.12
    empty = Net(np.zeros_like(net.skeleton), net.domain, net.chance, 1.0)
    assert net_direction(empty, SETTINGS) is None


def test_a_slanting_pixel_stands_for_more_length():
    net, (_, length), _ = voronoi_net(40.0)
    degrees, each = line_angles(net, SETTINGS.direction_smooth_px)
    assert len(degrees) == net.skeleton.sum()
    assert each.sum() == pytest.approx(length.sum(), rel=0.12)  # lines cut by the border are not in `length`


@pytest.mark.parametrize("cell_px", [25.0, 45.0, 80.0])
@pytest.mark.parametrize("missing", [0.0, 0.04])
def test_cell_quartiles(cell_px, missing):
    net, _, sizes = voronoi_net(cell_px, missing=missing, seed=3)
    quartiles = cell_quartiles_px(net, cell_px, SETTINGS)
    assert np.array(quartiles) == pytest.approx(np.percentile(sizes, [25, 50, 75]), rel=0.1)


def test_short_gaps_in_walls_are_closed():
    net, _, sizes = voronoi_net(60.0, seed=4)
    rng = np.random.default_rng(1)
    torn = net.skeleton.copy()
    rows, cols = np.nonzero(torn)
    for k in rng.choice(len(rows), 150, replace=False):
        torn[rows[k] - 2 : rows[k] + 3, cols[k] - 2 : cols[k] + 3] = False
    quartiles = cell_quartiles_px(Net(torn, net.domain, net.chance, 1.0), 60.0, SETTINGS)
    assert quartiles[1] == pytest.approx(float(np.median(sizes)), rel=0.1)


def test_torn_nets_have_no_quartiles():
    net, _, _ = voronoi_net(60.0, missing=0.6)
    assert cell_quartiles_px(net, 60.0, SETTINGS) is None
