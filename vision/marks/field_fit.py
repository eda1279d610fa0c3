"""Fit the net that looks over the whole face: python -m vision.marks.field_fit --renders .renders/far.

Needs the `train` extra (PyTorch, ONNX). Photos whose number is divisible by 5 are watched and never fitted
on. `--begin vision/marks/field.onnx` goes on from a net there is. Levels of each photo are kept beside the
truth and used again while the method is the same.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from vision.marks.classify import CLASSES
from vision.marks.field import CHANNELS, MODEL_FILE
from vision.marks.field_draw import SIDE, Draw
from vision.marks.field_levels import load_levels
from vision.marks.renders import split_files
from vision.nets_export import hold_levels, read_net, write_net

__all__ = ["build_net", "main"]

_NOTHING = len(CLASSES) - 1
OFTEN = 0.5
"""Share of the pieces shown that come from the folders named by `--often`."""


def build_net() -> Any:
    """Build the net, from (n, channels, rows, cols) to (n, classes + 3, rows / 2, cols / 2)."""
    import torch
    from torch import nn

    def conv(inner: int, outer: int, stride: int = 1, side: int = 3) -> Any:
        layers = [nn.Conv2d(inner, outer, side, stride, side // 2, bias=False), nn.BatchNorm2d(outer)]
        return nn.Sequential(*layers, nn.ReLU(inplace=True))

    class Field(nn.Module):  # type: ignore[misc]
        def __init__(self) -> None:
            super().__init__()
            self.fine = nn.Sequential(conv(len(CHANNELS), 20), conv(20, 36, 2), conv(36, 36))
            self.middle = nn.Sequential(conv(36, 56, 2), conv(56, 56))
            self.coarse = nn.Sequential(conv(56, 80, 2), conv(80, 80), conv(80, 56, 1, 1))
            self.back = nn.Sequential(conv(112, 48, 1, 1), conv(48, 48))
            self.last = nn.Sequential(conv(84, 44, 1, 1), conv(44, 44))
            self.head = nn.Conv2d(44, len(CLASSES) + 3, 1)
            self.wider = nn.Upsample(scale_factor=2, mode="nearest")

        def forward(self, x: Any) -> Any:
            fine = self.fine(x)
            middle = self.middle(fine)
            back = self.back(torch.cat([middle, self.wider(self.coarse(middle))], 1))
            return self.head(self.last(torch.cat([fine, self.wider(back)], 1)))

    return Field()


def _loss(out: Any, label: Any, places: Any) -> Any:
    """Cross entropy weighed by how far the net is off (focal), and the places and sizes of marks."""
    import torch
    from torch.nn import functional as f

    scores = out[:, : len(CLASSES)].permute(0, 2, 3, 1).reshape(-1, len(CLASSES))
    told = label.reshape(-1)
    on = told >= 0
    scores, told = scores[on], told[on].long()
    logs = f.log_softmax(scores, 1)
    picked = logs.gather(1, told[:, None])[:, 0]
    focus = (1 - picked.exp()) ** 1.5
    marks = told != _NOTHING
    weight = torch.where(marks, 1.0, 0.7)
    count = marks.sum().clamp(min=1)
    named = -(focus * picked * weight).sum() / count
    seen = (label >= 0) & (label < _NOTHING)
    off = f.smooth_l1_loss(
        out[:, len(CLASSES) :].permute(0, 2, 3, 1)[seen],
        places.permute(0, 2, 3, 1)[seen],
        beta=0.1,
        reduction="none",
    )
    return named + 0.7 * off.sum() / count


def main() -> int:
    """Run the command; gives the exit code."""
    import torch

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--often", type=Path, nargs="*", default=[], help="folders shown more often")
    parser.add_argument("--steps", type=int, default=4000)
    parser.add_argument("--rate", type=float, default=3e-3, help="of learning, at its highest")
    parser.add_argument("--batch", type=int, default=32)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--begin", type=Path, default=None, help="fitted net (.onnx) to go on from")
    parser.add_argument("--out", type=Path, default=MODEL_FILE)
    args = parser.parse_args()
    draws: list[Draw] = []
    watches: list[Draw] = []
    for seed, folders in enumerate((args.renders, args.often)):
        fitted, held = split_files(folders, 5)
        for files, into, word in ((fitted, draws, 3), (held, watches, 10)):
            if files:
                into.append(Draw(load_levels(files, args.processes), word + seed))
    torch.manual_seed(3)
    torch.set_num_threads(args.threads)
    for name, drawn in (("fitted", draws), ("held", watches)):
        for one in drawn:
            sys.stderr.write(f"{name}: {len(one.levels)} levels, cells {[len(c) for c in one.cells]}\n")
    watched = [[watch.one() for _ in range(400)] for watch in watches]
    shares = [1.0] if len(draws) == 1 else [1 - OFTEN, OFTEN]
    rng = np.random.default_rng(3)
    net = build_net().to(memory_format=torch.channels_last)
    like = torch.zeros(1, len(CHANNELS), SIDE, SIDE)
    if args.begin is not None:
        read_net(net, like, args.begin)
    optimiser = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=1e-3)
    began = time.monotonic()
    total = 0.0
    for step in range(1, args.steps + 1):
        rate = args.rate * min(1.0, step / 150) * max(0.01, 0.5 + 0.5 * np.cos(np.pi * step / args.steps))
        for group in optimiser.param_groups:
            group["lr"] = rate
        shown = [draws[k].one() for k in rng.choice(len(draws), args.batch, p=shares)]
        x, label, places = (torch.from_numpy(np.stack(part)) for part in zip(*shown, strict=True))
        if args.begin is None:
            net.train()
        else:
            hold_levels(net)
        with torch.autocast("cpu", torch.bfloat16):
            out = net(x.contiguous(memory_format=torch.channels_last))
        loss = _loss(out.float(), label, places)
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        optimiser.step()
        total += float(loss.detach())
        if step % 250 == 0:
            spent = (time.monotonic() - began) / 60
            sys.stderr.write(f"{spent:.1f} min, step {step}, loss {total / 250:.3f}\n")
            sys.stderr.writelines(f"  {_look(net, part)}\n" for part in watched)
            sys.stderr.flush()
            total = 0.0
        if step % 1000 == 0 or step == args.steps:
            net.eval()
            axes = {2: "rows", 3: "cols"}
            write_net(net, like, args.out, ("levels", ("scores",)), {"levels": axes, "scores": axes})
    return 0


def _look(net: Any, watched: Sequence[Any]) -> str:
    """Say how well the net does on what it never learnt from: cells named right, nothing mistaken."""
    import torch

    net.eval()
    loss, right, known, false, empty = 0.0, np.zeros(_NOTHING), np.zeros(_NOTHING), 0, 0
    with torch.inference_mode():
        for start in range(0, len(watched), 40):
            x, label, places = (
                torch.from_numpy(np.stack(part)) for part in zip(*watched[start : start + 40], strict=True)
            )
            out = net(x)
            loss += float(_loss(out, label, places)) * len(x) / len(watched)
            said = out[:, : len(CLASSES)].argmax(1)
            for kind in range(_NOTHING):
                known[kind] += int((label == kind).sum())
                right[kind] += int(((label == kind) & (said == kind)).sum())
            empty += int((label == _NOTHING).sum())
            false += int(((label == _NOTHING) & (said != _NOTHING)).sum())
    shares = [round(float(v), 3) for v in right / np.maximum(known, 1)]
    return f"held loss {loss:.3f}, cells right {shares}, mistaken {false} of {empty}"


if __name__ == "__main__":
    raise SystemExit(main())
