"""Fit the net of squares: python -m vision.marks.net_fit --renders .renders/shaded --often .renders/tune.

Needs the `train` extra (PyTorch, ONNX). It learns from the very places that `find_places` gives it to name:
`vision.marks.field_fit` comes first, `vision.marks.chances_fit` after. Photos whose number is divisible by 5
are watched and never fitted on.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks.chances_fit import UNSURE, label_places
from vision.marks.classify import CLASSES
from vision.marks.find import look_closely
from vision.marks.net import MODEL_FILE
from vision.marks.renders import KnownSurface, known_surfaces, shrunk, split_files
from vision.marks.squares import CHANNELS, SIDE
from vision.nets_export import write_net
from vision.settings import Settings

__all__ = ["Squares", "build_net", "load_squares"]

_NOTHING = len(CLASSES) - 1
OFTEN = 2.5
"""How many times as often a square of the folders named by `--often` is shown."""
LEAST_PX = 5.0
"""Diameter of the smallest mark it learns to name."""


@dataclass(frozen=True, slots=True, eq=False)
class Squares:
    """Places to learn from: squares (n, channels, side, side), label (n,), index into CLASSES."""

    squares: NDArray[np.float16]
    label: NDArray[np.int8]

    @staticmethod
    def join(parts: Sequence[Squares]) -> Squares:
        """Join several into one."""
        return Squares(
            np.concatenate([part.squares for part in parts]), np.concatenate([part.label for part in parts])
        )


def _views(truth_file: Path, settings: Settings) -> Iterator[KnownSurface]:
    """Give a photo's surfaces as they are and as poorer photos show them, and with the true glaze line."""
    rng = np.random.default_rng(int(hashlib.sha256(truth_file.stem.encode()).hexdigest()[:7], 16))
    for known in known_surfaces(truth_file, settings, read=True):
        yield known
        yield shrunk(known, rng)
        yield shrunk(known, rng)
    for known in known_surfaces(truth_file, settings):
        yield shrunk(known, rng)


def _squares_of(truth_file: Path, alone: bool) -> Squares | None:
    cv2.setNumThreads(1)
    settings = Settings()
    parts = []
    views = known_surfaces(truth_file, settings, read=True) if alone else _views(truth_file, settings)
    for known in views:
        places, squares = look_closely(known.surface, settings.marks)
        label = label_places(places, known.marks, LEAST_PX)
        sure = label != UNSURE
        parts.append(Squares(squares[sure].astype(np.float16), label[sure]))
    return Squares.join(parts) if parts else None


def load_squares(files: Sequence[Path], *, alone: bool = False, processes: int = 1) -> Squares:
    """Make the squares of photos.

    Parameters
    ----------
    files : truth files
    alone : the photos as they are, without poorer ones made of them
    processes : side by side
    """
    with ProcessPoolExecutor(processes) as pool:
        parts = list(pool.map(_squares_of, files, [alone] * len(files), chunksize=2))
    return Squares.join([part for part in parts if part is not None])


def build_net() -> Any:
    """Build the net, a `torch.nn.Module` from (n, channels, SIDE, SIDE) to (n, len(CLASSES))."""
    from torch import nn

    def conv(inner: int, outer: int, stride: int = 1) -> list[nn.Module]:
        layers = [nn.Conv2d(inner, outer, 3, stride, 1, bias=False), nn.BatchNorm2d(outer)]
        return [*layers, nn.ReLU(inplace=True)]

    return nn.Sequential(
        *conv(len(CHANNELS), 24),
        *conv(24, 32, 2),
        *conv(32, 48),
        *conv(48, 64, 2),
        *conv(64, 64),
        *conv(64, 96, 2),
        nn.Flatten(),
        nn.Dropout(0.3),
        nn.Linear(96 * (SIDE // 8) ** 2, 96),
        nn.ReLU(inplace=True),
        nn.Dropout(0.2),
        nn.Linear(96, len(CLASSES)),
    )


def _altered(x: Any, generator: Any) -> Any:
    """Turn, mirror, tint, blur and roughen a batch as other lamps, phones and glazes would."""
    import torch
    from torch.nn import functional as f

    n = len(x)
    angle = torch.rand(n, generator=generator) * 6.2832
    zoom = torch.exp(torch.randn(n, generator=generator) * 0.12)
    mirror = torch.where(torch.rand(n, generator=generator) < 0.5, -1.0, 1.0)
    shift = torch.randn(n, 2, generator=generator) * 0.05
    cos, sin = torch.cos(angle) * zoom, torch.sin(angle) * zoom
    theta = torch.stack(
        [torch.stack([cos * mirror, -sin, shift[:, 0]], 1), torch.stack([sin * mirror, cos, shift[:, 1]], 1)],
        1,
    )
    grid = f.affine_grid(theta, list(x.shape), align_corners=False)
    x = f.grid_sample(x, grid, padding_mode="reflection", align_corners=False)
    gain = torch.exp(torch.randn(n, 1, 1, 1, generator=generator) * 0.25)
    tint = torch.randn(n, 2, 1, 1, generator=generator)
    light, colour, around = x[:, :1] * gain, x[:, 1:3], x[:, 3:4] * gain
    colour = colour * torch.exp(torch.randn(n, 2, 1, 1, generator=generator) * 0.3) + 0.04 * tint * light
    soft = f.avg_pool2d(f.pad(light, (1, 1, 1, 1), mode="reflect"), 3, 1)
    mix = torch.rand(n, 1, 1, 1, generator=generator) * (torch.rand(n, 1, 1, 1, generator=generator) < 0.3)
    light = light * (1 - mix) + soft * mix
    noise = 0.12 * torch.rand(n, 1, 1, 1, generator=generator)
    light = light + noise * torch.randn(light.shape, generator=generator)
    colour = colour + noise * torch.randn(colour.shape, generator=generator)
    fixed = x[:, 6:] + 0.1 * torch.randn(n, x.shape[1] - 6, 1, 1, generator=generator)
    return torch.cat([light, colour, around, x[:, 4:6], fixed], 1)


def _balance(label: NDArray[np.int8]) -> NDArray[np.float64]:
    """Give each row's odds of being drawn: kinds by the root of their rarity, half of all nothing."""
    counts = np.bincount(label, minlength=len(CLASSES)).astype(np.float64)
    share = np.sqrt(np.maximum(counts[:_NOTHING], 1))
    odds = np.append(0.5 * share / share.sum(), 0.5)
    each = odds / np.maximum(counts, 1)
    return np.asarray(each[label] / each[label].sum())


def main() -> int:
    """Run the command; gives the exit code."""
    import torch
    from torch.nn import functional as f

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--often", type=Path, nargs="*", default=[], help="folders shown more often")
    parser.add_argument("--steps", type=int, default=1800)
    parser.add_argument("--threads", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--out", type=Path, default=MODEL_FILE)
    args = parser.parse_args()
    seen, watched, odds = [], [], []
    for folders, weight in ((args.renders, 1.0), (args.often, OFTEN)):
        fitted, held = split_files(folders, 5)
        if fitted:
            seen.append(load_squares(fitted, processes=args.processes))
            odds.append(np.full(len(seen[-1].label), weight))
        if held:
            watched.append(load_squares(held, alone=True, processes=args.processes))
    train, tune = Squares.join(seen), Squares.join(watched)
    for name, part in (("fitted", train), ("held", tune)):
        counts = np.bincount(part.label, minlength=len(CLASSES)).tolist()
        sys.stderr.write(f"{name}: {dict(zip(CLASSES, counts, strict=True))}\n")
    torch.manual_seed(5)
    torch.set_num_threads(args.threads)
    generator = torch.Generator().manual_seed(5)
    rng = np.random.default_rng(5)
    net = build_net()
    optimiser = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=1e-3)
    cumulative = np.cumsum(_balance(train.label) * np.concatenate(odds))
    cumulative /= cumulative[-1]
    began = time.monotonic()
    for step in range(1, args.steps + 1):
        rate = 2e-3 * min(1.0, step / 100) * max(0.01, 0.5 + 0.5 * np.cos(np.pi * step / args.steps))
        for group in optimiser.param_groups:
            group["lr"] = rate
        rows = np.minimum(np.searchsorted(cumulative, rng.random(192)), len(cumulative) - 1)
        x = _altered(torch.from_numpy(train.squares[rows].astype(np.float32)), generator)
        net.train()
        label = torch.from_numpy(train.label[rows].astype(np.int64))
        loss = f.cross_entropy(net(x), label, label_smoothing=0.03)
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
        if step % 250 == 0:
            spent = (time.monotonic() - began) / 60
            told = f"{spent:.1f} min, step {step}, loss {float(loss.detach()):.3f}: {_look(net, tune)}\n"
            sys.stderr.write(told)
    net.eval()
    like = torch.zeros(2, len(CHANNELS), SIDE, SIDE)
    write_net(net, like, args.out, ("squares", ("scores",)), {"squares": {0: "n"}, "scores": {0: "n"}})
    return 0


def _look(net: Any, tune: Squares) -> str:
    """Say how marks are named on squares held out."""
    import torch

    net.eval()
    with torch.no_grad():
        parts = np.array_split(np.arange(len(tune.label)), max(1, len(tune.label) // 2000))
        out = [net(torch.from_numpy(tune.squares[p].astype(np.float32))) for p in parts]
    named = torch.cat(out).numpy()[:, :_NOTHING].argmax(axis=1) == tune.label
    on = tune.label != _NOTHING
    kinds = {CLASSES[kind]: round(float(named[tune.label == kind].mean()), 2) for kind in range(_NOTHING)}
    return f"named right {named[on].mean():.3f} {kinds}"


if __name__ == "__main__":
    raise SystemExit(main())
