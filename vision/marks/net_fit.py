"""Fit the mark net: python -m vision.marks.net_fit --renders .renders/shaded .renders/train.

Needs the `train` extra (PyTorch, ONNX). Candidates come from the trees' screen, so `vision.marks.train` comes
first. Photos whose number is divisible by 5 are watched and never fitted on. Squares of each photo are kept
beside the truth and used again while the method is the same.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.marks import candidates as candidates_module
from vision.marks import examples as examples_module
from vision.marks import peaks as peaks_module
from vision.marks import renders as renders_module
from vision.marks import squares as squares_module
from vision.marks.candidates import build_pyramid, find_candidates, measuring_domain, smallest_diameter_px
from vision.marks.classify import CLASSES, classify, load_model
from vision.marks.examples import IGNORED, label_candidates
from vision.marks.features import measure_features
from vision.marks.net import MODEL_FILE
from vision.marks.renders import known_surfaces, shrunk, split_files, with_grain
from vision.marks.squares import CHANNELS, SIDE, cut_squares
from vision.nets_export import write_net
from vision.settings import Settings

__all__ = ["Squares", "build_net", "load_squares"]

_NOTHING = len(CLASSES) - 1
_ASKED_FROM = 0.02
"""Chance of a mark, by the trees, from which a candidate always is an example."""
OTHERS = 0.04
"""Share of the candidates the net is not asked about that it learns from all the same."""
MOST_NOTHING = 90
"""Squares with nothing kept of each view, at random: bounds the memory."""


@dataclass(frozen=True, slots=True, eq=False)
class Squares:
    """Candidates to learn from.

    Squares (n, channels, side, side), label (n,), log_ratio (n,), the trees' shares (n, classes).
    """

    squares: NDArray[np.float16]
    label: NDArray[np.int8]
    log_ratio: NDArray[np.float32]
    shares: NDArray[np.float32]

    @staticmethod
    def join(parts: Sequence[Squares]) -> Squares:
        """Join several into one."""
        fields = ("squares", "label", "log_ratio", "shares")
        return Squares(*(np.concatenate([getattr(p, name) for p in parts]) for name in fields))


def _method() -> str:
    modules = (candidates_module, examples_module, peaks_module, renders_module, squares_module)
    text = b"".join(Path(str(module.__file__)).read_bytes() for module in modules)
    return hashlib.sha256(text + load_model().screen.value.tobytes()).hexdigest()[:12]


def _squares_of(truth_file: Path, method: str) -> Squares | None:
    cv2.setNumThreads(1)
    kept = truth_file.parent / ".squares" / f"{truth_file.stem}.{method}.npz"
    if kept.is_file():
        with np.load(kept, allow_pickle=False) as file:
            return Squares(file["squares"], file["label"], file["log_ratio"], file["shares"])
    settings, model = Settings(), load_model()
    rng = np.random.default_rng(int(hashlib.sha256(truth_file.stem.encode()).hexdigest()[:7], 16))
    parts = []
    for known in known_surfaces(truth_file, settings, read=bool(rng.random() < 0.5)):
        views = [(known.surface, known.marks, False)]
        if rng.random() < 0.25:
            views.append((with_grain(known.surface, rng), known.marks, True))
        if rng.random() < 0.5:
            poorer = shrunk(known, rng)
            views.append((poorer.surface, poorer.marks, False))
        for surface, marks, grained in views:
            pyramid = build_pyramid(surface, measuring_domain(surface, settings.marks), settings.marks)
            found = find_candidates(surface, pyramid, settings.marks, model.screen)
            if len(found) == 0:
                continue
            shares, _ = classify(measure_features(surface, found, pyramid), model)
            smallest = smallest_diameter_px(surface.blur_px, settings.marks)
            label, ratio = label_candidates(found.x_px, found.y_px, found.radius_px, marks, smallest)
            asked = shares[:, _NOTHING] < 1 - _ASKED_FROM
            few = rng.random(len(found)) < OTHERS
            some = (label != IGNORED) & ((label != _NOTHING) | asked | few)
            if grained:  # under grain a mark may have gone from sight
                some &= label == _NOTHING
            empty = np.nonzero(some & (label == _NOTHING))[0]
            some[rng.permutation(empty)[MOST_NOTHING:]] = False
            rows = np.nonzero(some)[0]
            cut = cut_squares(found.take(rows), pyramid, surface.blur_px).astype(np.float16)
            parts.append(Squares(cut, label[rows], ratio[rows], shares[rows]))
    if not parts:
        return None
    made = Squares.join(parts)
    kept.parent.mkdir(exist_ok=True)
    np.savez(kept, squares=made.squares, label=made.label, log_ratio=made.log_ratio, shares=made.shares)
    return made


def load_squares(files: Sequence[Path], processes: int = 1) -> Squares:
    """Make or load the squares of photos given by their truth files."""
    work = partial(_squares_of, method=_method())
    if processes == 1:
        parts = [work(file) for file in files]
    else:
        with ProcessPoolExecutor(processes) as pool:
            parts = list(pool.map(work, files, chunksize=2))
    return Squares.join([part for part in parts if part is not None])


def build_net() -> Any:
    """Build the net, a `torch.nn.Module` from (n, channels, SIDE, SIDE) to (n, len(CLASSES) + 1)."""
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
        nn.Linear(96, len(CLASSES) + 1),
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
    parser.add_argument("--steps", type=int, default=4000)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--out", type=Path, default=MODEL_FILE)
    args = parser.parse_args()
    fitted, held = split_files(args.renders, 5)
    train, tune = load_squares(fitted, args.processes), load_squares(held, args.processes)
    for name, part in (("fitted", train), ("held", tune)):
        counts = np.bincount(part.label, minlength=len(CLASSES)).tolist()
        sys.stderr.write(f"{name}: {dict(zip(CLASSES, counts, strict=True))}\n")
    torch.manual_seed(3)
    torch.set_num_threads(args.threads)
    generator = torch.Generator().manual_seed(3)
    rng = np.random.default_rng(3)
    net = build_net()
    optimiser = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=1e-3)
    odds = _balance(train.label)
    cumulative = np.cumsum(odds)
    began = time.monotonic()
    for step in range(1, args.steps + 1):
        rate = 2e-3 * min(1.0, step / 100) * max(0.01, 0.5 + 0.5 * np.cos(np.pi * step / args.steps))
        for group in optimiser.param_groups:
            group["lr"] = rate
        rows = np.minimum(np.searchsorted(cumulative, rng.random(192)), len(odds) - 1)
        x = _altered(torch.from_numpy(train.squares[rows].astype(np.float32)), generator)
        label = torch.from_numpy(train.label[rows].astype(np.int64))
        ratio = torch.from_numpy(train.log_ratio[rows])
        net.train()
        with torch.autocast("cpu", torch.bfloat16):
            out = net(x)
        out = out.float()
        loss = f.cross_entropy(out[:, :-1], label, label_smoothing=0.03)
        on = label != _NOTHING
        loss = loss + 0.5 * (f.smooth_l1_loss(out[:, -1], ratio, reduction="none", beta=0.1) * on).mean()
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
        if step % 500 == 0:
            spent = (time.monotonic() - began) / 60
            sys.stderr.write(
                f"{spent:.1f} min, step {step}, loss {float(loss.detach()):.3f}: {_look(net, tune)}\n"
            )
    net.eval()
    sys.stderr.write(f"{_look(net, tune)}\n")
    like = torch.zeros(2, len(CHANNELS), SIDE, SIDE)
    write_net(net, like, args.out, ("squares", ("scores",)), {"squares": {0: "n"}, "scores": {0: "n"}})
    return 0


def _look(net: Any, tune: Squares) -> str:
    """Say how kinds are named on squares held out: by the net, by the trees, by both."""
    import torch

    net.eval()
    with torch.no_grad():
        parts = np.array_split(np.arange(len(tune.label)), max(1, len(tune.label) // 2000))
        out = [net(torch.from_numpy(tune.squares[p].astype(np.float32)))[:, :-1].softmax(1) for p in parts]
    shares = torch.cat(out).numpy()
    on = tune.label != _NOTHING
    told = []
    for name, values in (("net", shares), ("trees", tune.shares), ("both", (shares + tune.shares) / 2)):
        kind = np.argmax(values[on, :_NOTHING], axis=1) == tune.label[on]
        each = [
            kind[tune.label[on] == k].mean() if (tune.label[on] == k).any() else np.nan
            for k in range(_NOTHING)
        ]
        seen = 1 - values[:, _NOTHING]
        order = np.argsort(-seen)
        hits = np.cumsum(on[order])
        precision = hits / np.arange(1, len(order) + 1)
        area = float((precision * on[order]).sum() / max(1, on.sum()))
        told.append(f"{name} kind {kind.mean():.3f} {np.round(each, 2)} seen AP {area:.3f}")
    return "; ".join(told)


if __name__ == "__main__":
    raise SystemExit(main())
