"""Writes a fitted net as an ONNX file that ONNX Runtime runs. Needs the `train` extra."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["write_net"]

_SMALL = 256
"""Weights of so few numbers stay in full precision; they add up to nothing."""


def write_net(
    net: Any, like: Any, path: Path, names: tuple[str, tuple[str, ...]], free: dict[str, dict[int, str]]
) -> None:
    """Write a net, its weights in half precision, which halves the file and moves chances by under 0.01.

    Parameters
    ----------
    net : `torch.nn.Module`, in its evaluating state
    like : a tensor such as it takes
    path : of the file
    names : of the input, and of the outputs
    free : for each input or output, its axes that may have any size, with a name
    """
    import onnx
    import torch
    from onnx import TensorProto, helper, numpy_helper

    torch.onnx.export(
        net,
        (like,),
        str(path),
        input_names=[names[0]],
        output_names=list(names[1]),
        dynamic_axes=free,
        opset_version=13,
        dynamo=False,
    )
    model = onnx.load(str(path))
    graph = model.graph
    for tensor in list(graph.initializer):
        values = numpy_helper.to_array(tensor)
        if values.dtype != np.float32 or values.size < _SMALL:
            continue
        graph.initializer.remove(tensor)
        half = f"{tensor.name}_half"
        graph.initializer.append(numpy_helper.from_array(values.astype(np.float16), half))
        graph.node.insert(0, helper.make_node("Cast", [half], [tensor.name], to=TensorProto.FLOAT))
    onnx.save(model, str(path))


def read_net(net: Any, like: Any, path: Path) -> None:
    """Take up the weights of a file that `write_net` wrote, to go on from them.

    Parameters
    ----------
    net : `torch.nn.Module` of the same shape; its convolutions get the file's weights. Levels
        (`BatchNorm2d`) are folded into the convolutions before them in the file: they get statistics that
        change nothing, and are right only in the evaluating state. Train with them in it (`hold_levels`).
    like : a tensor such as it takes
    path : of the file

    Raises
    ------
    ValueError : when the file holds another number of convolutions, or of other shapes
    """
    import onnx
    import torch
    from onnx import numpy_helper
    from torch import nn

    ran: list[Any] = []
    parts = [m for m in net.modules() if isinstance(m, nn.Conv2d | nn.BatchNorm2d)]
    hooks = [m.register_forward_hook(lambda part, _in, _out: ran.append(part)) for m in parts]
    net.eval()
    with torch.inference_mode():
        net(like)
    for hook in hooks:
        hook.remove()
    graph = onnx.load(str(path)).graph
    held = {t.name: numpy_helper.to_array(t) for t in graph.initializer}
    held |= {n.output[0]: held[n.input[0]].astype(np.float32) for n in graph.node if n.op_type == "Cast"}
    convolutions = [n for n in graph.node if n.op_type == "Conv"]
    if len(convolutions) != sum(isinstance(m, nn.Conv2d) for m in ran):
        raise ValueError(f"{path} holds {len(convolutions)} convolutions, not those of this net")
    nodes = iter(convolutions)
    bias: Any = None
    with torch.no_grad():
        for place, part in enumerate(ran):
            if isinstance(part, nn.BatchNorm2d):
                part.weight.fill_(1.0)
                part.bias.copy_(bias)
                part.running_mean.zero_()
                part.running_var.fill_(1.0 - part.eps)
                continue
            node = next(nodes)
            weight, bias = (torch.from_numpy(np.array(held[name], np.float32)) for name in node.input[1:3])
            if weight.shape != part.weight.shape:
                told = f"is {tuple(weight.shape)}, not {tuple(part.weight.shape)}"
                raise ValueError(f"{path}: convolution {place} {told}")
            part.weight.copy_(weight)
            if part.bias is not None:
                part.bias.copy_(bias)


def hold_levels(net: Any) -> None:
    """Keep a net's levels (`BatchNorm2d`) as they are while all else is in the training state."""
    from torch import nn

    net.train()
    for part in net.modules():
        if isinstance(part, nn.BatchNorm2d):
            part.eval()
