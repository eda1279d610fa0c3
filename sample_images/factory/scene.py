"""Puts surfaces, paper, table and light together, renders them, and asks where everything landed."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from .camera import Camera
from .denoise import denoise
from .engine import start
from .geometry import MeshArrays
from .lights import Lighting, light_dict
from .noise import Field
from .tile_surface import Surface

__all__ = ["Item", "Shot", "Sight", "albedo_of", "render", "scene_of", "see"]


@dataclass(frozen=True, slots=True, eq=False)
class Item:
    """One thing in the photo.

    Attributes
    ----------
    name : unique in the shot
    mesh : in world coordinates
    colour : (rows, cols, 3) linear reflectance texture, or (3,)
    rough : (rows, cols) principled roughness, or None for a plain diffuse thing (paper)
    surface : the glazed surface it shows, or None
    frame : for flat things: (x, y, z, turn_deg) of its top left corner in the world
    """

    name: str
    mesh: MeshArrays
    colour: Field
    rough: Field | None
    surface: Surface | None = None
    frame: tuple[float, float, float, float] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """A photo to be: camera, things, light, samples per pixel (4, 16, 64 or 256: the sampler wants these)."""

    camera: Camera
    items: tuple[Item, ...]
    lighting: Lighting
    samples: int = 4
    seed: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """What each pixel's centre sees: item index (rows, cols), -1 none; uv; shading normal; position."""

    item: NDArray[np.int16]
    uv: NDArray[np.float32]
    normal: NDArray[np.float32]
    position: NDArray[np.float32]


def _texture(values: Field) -> dict[str, object]:
    mi = start()
    return {
        "type": "bitmap",
        "bitmap": mi.Bitmap(np.ascontiguousarray(values, dtype=np.float32)),
        "raw": True,
        "wrap_mode": "mirror",
    }


def _material(item: Item) -> object:
    mi = start()
    colour = item.colour if item.colour.ndim == 3 else np.broadcast_to(item.colour, (2, 2, 3))
    if item.rough is None:
        inner: dict[str, object] = {"type": "diffuse", "reflectance": _texture(colour)}
    else:
        inner = {
            "type": "principled",
            "base_color": _texture(colour),
            "roughness": _texture(item.rough[..., None]),
            "specular": 0.5,
        }
    return mi.load_dict({"type": "twosided", "bsdf": inner})


def _shape(item: Item) -> object:
    mi = start()
    props = mi.Properties()
    props["bsdf"] = _material(item)
    mesh = mi.Mesh(
        item.name,
        vertex_count=len(item.mesh.vertices),
        face_count=len(item.mesh.faces),
        has_vertex_normals=item.mesh.normals is not None,
        has_vertex_texcoords=True,
        props=props,
    )
    values = mi.traverse(mesh)
    values["vertex_positions"] = np.ravel(item.mesh.vertices)
    values["vertex_texcoords"] = np.ravel(item.mesh.uv)
    if item.mesh.normals is not None:
        values["vertex_normals"] = np.ravel(item.mesh.normals)
    values["faces"] = np.ravel(item.mesh.faces)
    values.update()
    return mesh


def scene_of(shot: Shot) -> tuple[object, list[object], NDArray[np.float64]]:
    """Load the shot; gives the scene, its item shapes in order and the light's mean colour (3,), green 1."""
    mi = start()
    lights, white = light_dict(shot.lighting)
    shapes = [_shape(item) for item in shot.items]
    parts: dict[str, object] = {"type": "scene", "integrator": {"type": "path", "max_depth": 3}, **lights}
    parts |= {item.name: shape for item, shape in zip(shot.items, shapes, strict=True)}
    return mi.load_dict(parts), shapes, white


def _sensor(shot: Shot) -> object:
    mi = start()
    camera = shot.camera
    _, up, _ = camera.axes()
    return mi.load_dict(
        {
            "type": "perspective",
            "fov": camera.fov_deg,
            "fov_axis": "x",
            "near_clip": 5.0,
            "far_clip": 20000.0,
            "to_world": mi.ScalarTransform4f().look_at(
                camera.position.tolist(), camera.target.tolist(), up.tolist()
            ),
            "film": {
                "type": "hdrfilm",
                "width": camera.width_px,
                "height": camera.height_px,
                "pixel_format": "rgb",
                "component_format": "float32",
                "rfilter": {"type": "box"},
            },
            "sampler": {"type": "ldsampler", "sample_count": shot.samples},
        }
    )


def render(shot: Shot, scene: object, sight: Sight) -> Field:
    """Render (rows, cols, 3) linear light and clean it of grain, guided by what each pixel sees."""
    mi = start()
    image = mi.render(scene, sensor=_sensor(shot), spp=shot.samples, seed=shot.seed & 0x7FFFFFFF)
    return denoise(np.asarray(image, dtype=np.float32), albedo_of(shot, sight), sight.normal)


def albedo_of(shot: Shot, sight: Sight) -> Field:
    """Look up each pixel's diffuse colour: (rows, cols, 3) linear reflectance, black where nothing is hit."""
    albedo = np.zeros((*sight.item.shape, 3), np.float32)
    for index, item in enumerate(shot.items):
        here = sight.item == index
        if not here.any():
            continue
        if item.colour.ndim == 1:
            albedo[here] = item.colour
            continue
        rows, cols = item.colour.shape[:2]
        uv = sight.uv[here]
        x, y = uv[:, 0] * cols - 0.5, uv[:, 1] * rows - 0.5
        part = cv2.remap(item.colour, *_folded(x, y), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        albedo[here] = part.reshape(-1, 3)[: len(uv)]
    return albedo


def _folded(x: Field, y: Field) -> tuple[Field, Field]:
    """Fold a long list of places into a picture, which `cv2.remap` limits to 32767 a side."""
    rows = -(-len(x) // 4096)
    room = rows * 4096 - len(x)
    return tuple(np.pad(v, (0, room)).reshape(rows, 4096).astype(np.float32) for v in (x, y))


def see(shot: Shot, scene: object, shapes: list[object]) -> Sight:
    """Trace one ray through each pixel's centre.

    Notes
    -----
    The rays come from `Camera`, not from Mitsuba's own sensor, so a mistake in either shows
    as truth that does not lie on the picture.
    """
    mi = start()
    camera = shot.camera
    rows, cols = camera.height_px, camera.width_px
    if mi.variant().startswith("scalar"):
        return _see_scalar(shot, scene, shapes)
    rays = camera.rays().reshape(-1, 3).astype(np.float32)
    origin = mi.Point3f(*[float(v) for v in camera.position])
    ray = mi.Ray3f(origin, mi.Vector3f(rays[:, 0], rays[:, 1], rays[:, 2]))
    hit = scene.ray_intersect(ray)
    item = np.full(rows * cols, -1, np.int16)
    for index, shape in enumerate(shapes):
        item[np.asarray(hit.shape == mi.ShapePtr(shape))] = index
    stack = [np.asarray(v).T for v in (hit.uv, hit.sh_frame.n, hit.p)]
    return Sight(
        item.reshape(rows, cols),
        stack[0].reshape(rows, cols, 2).astype(np.float32),
        stack[1].reshape(rows, cols, 3).astype(np.float32),
        stack[2].reshape(rows, cols, 3).astype(np.float32),
    )


def _see_scalar(shot: Shot, scene: object, shapes: list[object]) -> Sight:
    mi = start()
    camera = shot.camera
    names = {shape.id(): index for index, shape in enumerate(shapes)}
    rows, cols = camera.height_px, camera.width_px
    item = np.full((rows, cols), -1, np.int16)
    uv, normal, position = (np.zeros((rows, cols, n), np.float32) for n in (2, 3, 3))
    rays = camera.rays()
    for row in range(rows):
        for col in range(cols):
            hit = scene.ray_intersect(mi.Ray3f(camera.position.tolist(), rays[row, col].tolist()))
            if hit.is_valid():
                item[row, col] = names.get(hit.shape.id(), -1)
                uv[row, col], normal[row, col], position[row, col] = hit.uv, hit.sh_frame.n, hit.p
    return Sight(item, uv, normal, position)
