"""Fit the gloss net, in about half an hour on one idle core.

Run: python -m vision.gloss_fit --renders .renders/train --faces .renders/faces --shaded .renders/shaded
.renders/far --calibrate .renders/tune. Needs the `train` extra (PyTorch, ONNX), photos from
`sample_images/render_splits.py`, single faces from `render_faces.py`, surfaces from `shade_surfaces.py`.
Photos whose number is divisible by 5 are watched and never fitted on; all pictures of one scene have one
number. At the end chances and spreads are brought into line on those and the photos of `--calibrate`.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.gloss_net import CHANNELS, MODEL_FILE, SIDE, face_planes, framed
from vision.marks.renders import known_surfaces, split_files, truth_files
from vision.nets_export import write_net
from vision.reading import Finish
from vision.settings import Settings
from vision.surface import BoolMask, ByteImage

__all__ = ["Faces", "build_net", "fit_scales", "gather", "make_pictures", "worn"]

_FINISHES = [str(finish) for finish in (Finish.GLOSS, Finish.SATIN, Finish.MATT)]
_SHOWN = {"renders": (0.45, 3), "faces": (0.42, 5), "shaded": (0.13, 2)}
"""How often each sort is shown, and how many pictures are made of each face, as other phones, exposures and
distances would show it. What is shaded without ray tracing is simpler than what is to be read."""
_BATCH = 32


@dataclass(frozen=True, slots=True, eq=False)
class Faces:
    """Faces to learn from, n of them.

    Attributes
    ----------
    images, faces : (n, 2 SIDE, 2 SIDE, 3) uint8 and (n, 2 SIDE, 2 SIDE) bool, from `framed`
    share : (n,) long side over the photo's
    finish : (n,) index: gloss, satin, matt
    log_roughness : (n,)
    reflection : (n,) 1 or 0: a lamp or window is mirrored in view; -1 where the truth does not say
    """

    images: ByteImage
    faces: BoolMask
    share: NDArray[np.float32]
    finish: NDArray[np.int64]
    log_roughness: NDArray[np.float32]
    reflection: NDArray[np.float32]


def _faces_of(truth_file: Path, alone: bool) -> list[tuple[Any, ...]]:
    cv2.setNumThreads(1)
    settings = Settings()
    truth = json.loads(truth_file.read_text(encoding="utf-8"))
    rows = []
    # a single face has no table around that a reading could part it from
    for read in (False,) if "photo_px" in truth else (True,) if alone else (False, True):
        for known in known_surfaces(truth_file, settings, read=read):
            entry = truth["tiles"][int(known.name.rsplit(".", 1)[1])]
            image, face = framed(known.surface.image, known.surface.glazed)
            if face.sum() < settings.gloss.least_pixels:
                continue
            told = (_FINISHES.index(entry["finish"]), np.log(entry["roughness"]))
            rows.append((image, face, known.surface.frame_share, *told, entry.get("reflection_in_view", -1)))
    return rows


def gather(files: Sequence[Path], *, alone: bool = False, processes: int = 1) -> Faces:
    """Collect the faces of rendered photos.

    Parameters
    ----------
    files : truth files
    alone : glaze and clay as a reading parts them, not as the truth does besides
    processes : side by side
    """
    with ProcessPoolExecutor(processes) as pool:
        parts = pool.map(_faces_of, files, [alone] * len(files), chunksize=4)
        columns = [
            np.asarray(column) for column in zip(*(row for part in parts for row in part), strict=True)
        ]
    kinds = (np.uint8, np.bool_, np.float32, np.int64, np.float32, np.float32)
    return Faces(*(column.astype(kind) for column, kind in zip(columns, kinds, strict=True)))


def make_pictures(faces: Faces, worn_ones: int, rng: np.random.Generator) -> NDArray[np.float16]:
    """Make the net's pictures, (n x worn_ones, channels, SIDE, SIDE); as the faces are if 0."""
    out = []
    for image, face, share in zip(faces.images, faces.faces, faces.share, strict=True):
        for _ in range(worn_ones):
            seen = float(share) * float(np.exp(rng.normal(0, 0.12)))
            out.append(face_planes(*worn(image, face, rng), None if rng.random() < 0.1 else seen))
        if not worn_ones:
            out.append(face_planes(image, face, float(share)))
    return np.asarray(out, np.float16)


def worn(image: ByteImage, face: BoolMask, rng: np.random.Generator) -> tuple[ByteImage, BoolMask]:
    """Give a face as another phone shows it: turned, exposed, tinted, softened, grained and stored anew."""
    turns, mirrored = int(rng.integers(4)), bool(rng.random() < 0.5)
    image, face = np.rot90(image, turns), np.rot90(face, turns)
    if mirrored:
        image, face = image[:, ::-1], face[:, ::-1]
    levels = (np.arange(256) / 255) ** np.exp(rng.normal(0, 0.10))
    gain = np.exp(rng.normal(0, 0.18) + rng.normal(0, 0.05, 3))
    curve = np.clip(levels[:, None] * gain, 0, 1)
    bend = rng.uniform(-0.2, 0.35)
    curve = curve + bend * (curve * curve * (3 - 2 * curve) - curve)
    out = np.stack([curve[image[..., k], k] for k in range(3)], axis=2).astype(np.float32) * 255
    if rng.random() < 0.4:
        out = cv2.GaussianBlur(out, (0, 0), float(rng.uniform(0.3, 1.0)))
    elif rng.random() < 0.3:
        out = out + rng.uniform(0, 0.5) * (out - cv2.GaussianBlur(out, (0, 0), 1.0))
    out = out + rng.standard_normal(out.shape, dtype=np.float32) * np.float32(rng.uniform(0, 3))
    bytes_image = np.clip(np.rint(out), 0, 255).astype(np.uint8)
    if rng.random() < 0.5:
        quality = [int(cv2.IMWRITE_JPEG_QUALITY), int(rng.integers(60, 96))]
        stored = cv2.imencode(".jpg", np.ascontiguousarray(bytes_image), quality)[1]
        bytes_image = np.asarray(cv2.imdecode(stored, cv2.IMREAD_COLOR), np.uint8)
    return np.ascontiguousarray(bytes_image), np.ascontiguousarray(face)


def build_net() -> Any:
    """Build the net, a `torch.nn.Module` from (n, channels, SIDE, SIDE) to (n, 6).

    Scores: log odds of a reflection, of gloss, satin and matt; log roughness and the log of its spread.
    """
    import torch
    from torch import nn

    def conv(inner: int, outer: int, stride: int = 1) -> list[nn.Module]:
        layers = [nn.Conv2d(inner, outer, 3, stride, 1, bias=False), nn.BatchNorm2d(outer)]
        return [*layers, nn.ReLU(inplace=True)]

    class GlossNet(nn.Module):  # type: ignore[misc]
        def __init__(self) -> None:
            super().__init__()
            steps = ((16, 2), (24, 2), (32, 2), (48, 1), (64, 2))
            inner = len(CHANNELS)
            layers: list[nn.Module] = []
            for outer, stride in steps:
                layers += conv(inner, outer, stride)
                inner = outer
            self.body = nn.Sequential(*layers)
            self.first = nn.Sequential(nn.Dropout(0.3), nn.Linear(128, 48), nn.ReLU(inplace=True))
            self.last = nn.Sequential(nn.Dropout(0.2), nn.Linear(48, 6))

        def forward(self, x: Any) -> Any:
            found = self.body(x)
            return self.last(self.first(torch.cat([found.mean(dim=(2, 3)), found.amax(dim=(2, 3))], 1)))

    return GlossNet()


def _loss(scores: Any, truth: Any) -> Any:
    """Give how far scores (n, 6) are from finish, log roughness and reflection (n, 3)."""
    from torch.nn import functional as f

    seen = f.binary_cross_entropy_with_logits(scores[:, 0], truth[:, 2].clamp(0, 1), reduction="none")
    named = f.cross_entropy(scores[:, 1:4], truth[:, 0].long(), reduction="none", label_smoothing=0.02)
    log_spread = scores[:, 5].clamp(-3.0, 1.0)
    miss = (scores[:, 4] - truth[:, 1]) / log_spread.exp()
    rough = 0.5 * miss * miss + log_spread
    return (0.5 * (truth[:, 2] >= 0) * seen + named + 0.7 * rough).mean()


def _ask(net: Any, pictures: NDArray[np.float16]) -> NDArray[np.float64]:
    """Ask the net about pictures as a reading does; scores (n, 6)."""
    import torch

    net.eval()
    out = []
    with torch.no_grad():
        for start in range(0, len(pictures), 64):
            x = torch.from_numpy(pictures[start : start + 64].astype(np.float32))
            out.append(sum(net(turned) for turned in (x, x.flip(3), x.flip(2), x.flip(2, 3))) / 4)
    return np.asarray(torch.cat(out).numpy(), np.float64)


def fit_scales(scores: NDArray[np.float64], faces: Faces) -> tuple[float, float, float]:
    """Fit what brings scores into line: factors of the reflection's and the finish's, spread's in logarithm.

    Parameters
    ----------
    scores : (n, 6) of the net
    faces : the truth of each
    """
    factors = np.exp(np.linspace(-1.5, 1.0, 126))
    odds = np.where(faces.reflection > 0, 1.0, -1.0) * scores[:, 0]
    by_seen = [np.log1p(np.exp(-factor * odds)).mean() for factor in factors]
    by_name = []
    for factor in factors:
        logs = factor * scores[:, 1:4]
        logs = logs - np.log(np.exp(logs).sum(axis=1, keepdims=True))
        by_name.append(-logs[np.arange(len(logs)), faces.finish].mean())
    miss = (scores[:, 4] - faces.log_roughness) / np.exp(scores[:, 5])
    wider = 0.5 * float(np.log((miss * miss).mean()))
    return float(factors[np.argmin(by_seen)]), float(factors[np.argmin(by_name)]), wider


def _told(scores: NDArray[np.float64], faces: Faces) -> str:
    """Say how well faces that mirror a light are named, and how well roughness is ordered."""
    from scipy.stats import spearmanr

    seen = faces.reflection > 0
    right = float((scores[seen, 1:4].argmax(axis=1) == faces.finish[seen]).mean())
    rank = float(spearmanr(scores[seen, 4], faces.log_roughness[seen]).statistic)
    return f"{int(seen.sum())} mirror a light: finish right {right:.2f}, rank {rank:.2f}"


def _follow(mean: Any, net: Any, kept: float) -> None:
    """Let a net's weights follow another's as a running mean."""
    for own, new in zip(mean.state_dict().values(), net.state_dict().values(), strict=True):
        if own.dtype.is_floating_point:
            own.mul_(kept).add_(new, alpha=1 - kept)
        else:
            own.copy_(new)


def _fit(pictures: NDArray[np.float16], truth: NDArray[np.float32], odds: Any, args: Any) -> Any:
    """Fit a net to pictures drawn by their odds; gives the running mean of its weights."""
    import torch

    net, mean = build_net(), build_net()

    optimiser = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=1e-2)
    rng = np.random.default_rng(5)
    cumulative = np.cumsum(odds) / np.sum(odds)
    began = time.monotonic()
    for step in range(1, args.steps + 1):
        rate = 2e-3 * min(1.0, step / 50) * max(0.01, 0.5 + 0.5 * np.cos(np.pi * step / args.steps))
        for group in optimiser.param_groups:
            group["lr"] = rate
        rows = np.minimum(np.searchsorted(cumulative, rng.random(_BATCH)), len(cumulative) - 1)
        x = torch.from_numpy(pictures[rows].astype(np.float32))
        turn = rng.random(3) < 0.5
        x = x.flip(3) if turn[0] else x
        x = x.flip(2) if turn[1] else x
        x = x.transpose(2, 3) if turn[2] else x
        net.train()
        loss = _loss(net(x), torch.from_numpy(truth[rows]))
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        optimiser.step()
        with torch.no_grad():
            _follow(mean, net, min(0.99, step / (step + 20)))
        if step % 200 == 0:
            spent = (time.monotonic() - began) / 60
            sys.stderr.write(f"{spent:.1f} min, step {step}, loss {float(loss.detach()):.3f}\n")
    return mean


def main() -> int:
    """Run the command; gives the exit code."""
    import torch

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--faces", type=Path, nargs="*", default=[], help="single faces")
    parser.add_argument("--shaded", type=Path, nargs="*", default=[], help="surfaces without ray tracing")
    parser.add_argument("--calibrate", type=Path, nargs="+", required=True, help="photos not fitted on")
    parser.add_argument("--steps", type=int, default=2100)
    parser.add_argument("--threads", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--out", type=Path, default=MODEL_FILE)
    args = parser.parse_args()
    torch.manual_seed(5)
    torch.set_num_threads(args.threads)
    rng = np.random.default_rng(5)
    pictures, truth, odds, held = [], [], [], []
    for sort, (share, worn_ones) in _SHOWN.items():
        fitted, kept = split_files(getattr(args, sort), 5)
        held += kept if sort == "renders" else []
        if not fitted:
            continue
        faces = gather(fitted, processes=args.processes)
        pictures.append(make_pictures(faces, worn_ones, rng))
        known = np.column_stack([faces.finish, faces.log_roughness, faces.reflection])
        truth.append(np.repeat(known, worn_ones, axis=0).astype(np.float32))
        odds.append(np.full(len(truth[-1]), share / len(truth[-1])))
    watched = gather([*held, *truth_files(args.calibrate)], alone=True, processes=args.processes)
    net = _fit(np.concatenate(pictures), np.concatenate(truth), np.concatenate(odds), args)
    scores = _ask(net, make_pictures(watched, 0, rng))
    seen, named, wider = fit_scales(scores, watched)
    sys.stderr.write(f"{_told(scores, watched)}; scales {seen:.2f} {named:.2f} {wider:.2f}\n")
    with torch.no_grad():
        last = net.last[1]
        for rows, factor in ((slice(0, 1), seen), (slice(1, 4), named)):
            last.weight[rows] *= factor
            last.bias[rows] *= factor
        last.bias[5] += wider
    net.eval()
    like = torch.zeros(2, len(CHANNELS), SIDE, SIDE)
    write_net(net, like, args.out, ("face", ("scores",)), {"face": {0: "n"}, "scores": {0: "n"}})
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
