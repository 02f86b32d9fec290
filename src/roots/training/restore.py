"""full.onnx -> weights.npz, to go on learning from a map with the head that export.py writes.   python3 restore.py full.onnx weights.npz

The file holds each convolution with its batch normalisation worked in. That is undone here with the means and spreads that
invented panels give: the answers stay the same, and further learning meets the normalisation it is used to. Only learnt
parts that ship come back; what was learnt beside them (model.py) starts anew.
"""
import sys

import numpy as np
import onnx
import torch
import torch.nn as nn
from onnx import numpy_helper

from model import RootMap
from train import new_scenes, photographed

PANELS = 48


def convolutions(graph):
    """Weight and bias of every learnt convolution, in the order in which they are worked out."""
    held = {i.name: numpy_helper.to_array(i) for i in graph.initializer}
    found = [n for n in graph.node if n.op_type in ("Conv", "ConvTranspose") and len(n.input) == 3]
    return [tuple(torch.from_numpy(held[name].copy()) for name in n.input[1:]) for n in found]


def norms(net):
    """The normalisation after each convolution that has one."""
    return {block[0]: block[1] for block in net.modules()
            if isinstance(block, nn.Sequential) and len(block) > 1 and isinstance(block[1], nn.BatchNorm2d)}


def invented():
    """Pairs of panels, in some batches."""
    torch.manual_seed(1)
    return [photographed(new_scenes(12))[0] for _ in range(PANELS // 12)]


def normalise(net, panels):
    """Gives every normalisation the mean and spread that it meets on these panels; the answers stay the same."""
    sums, norm_of = {}, norms(net)
    hooks = [norm.register_forward_hook(lambda m, _, y: sums.setdefault(m, []).append((y.mean((0, 2, 3)), (y * y).mean((0, 2, 3)))))
             for norm in norm_of.values()]
    with torch.no_grad():
        before = net(panels[0])[0]
        for pair in panels[1:]:
            net(pair)
        for hook in hooks:
            hook.remove()
        for norm, seen in sums.items():
            mean, square = (torch.stack(v).mean(0) for v in zip(*seen))
            spread = (square - mean ** 2).clamp(min=1e-8)
            # what comes in = what comes out, shifted back and scaled back
            gain = norm.weight / torch.sqrt(norm.running_var + norm.eps)
            gain = torch.where(gain.abs() < 1e-6, torch.ones_like(gain), gain)
            norm.running_mean, norm.running_var = (mean - norm.bias) / gain + norm.running_mean, spread / gain ** 2
            norm.weight.data = torch.sqrt(norm.running_var + norm.eps) * gain
            norm.bias.data = mean
        print("answers differ by", (net(panels[0])[0] - before).abs().max().item())


def main(path, out):
    net = RootMap().eval()
    learnt = [m for m in net.modules() if isinstance(m, (nn.Conv2d, nn.ConvTranspose2d))]
    order = []
    hooks = [m.register_forward_hook(lambda m, _, __: order.append(m)) for m in learnt]
    with torch.no_grad():
        net(torch.zeros(1, 6, 64, 64))
    for hook in hooks:
        hook.remove()
    norm_of = norms(net)
    saved = convolutions(onnx.load(path).graph)
    assert len(saved) == len(order), (len(saved), len(order))
    for m, (weight, bias) in zip(order, saved):
        norm = norm_of.get(m)
        if norm is None:        # the last layer
            m.weight.data[:len(weight)], m.bias.data[:len(bias)] = weight, bias
            m.weight.data[len(weight):] = 0
            continue
        if isinstance(m, nn.Conv2d) and weight.shape[1] == 13:      # what looks at the planes: as export.py changes it
            weight[:, 6:12] /= 2
        m.weight.data = weight[:, :m.weight.shape[1]] if isinstance(m, nn.Conv2d) else weight
        norm.weight.data.fill_(float(np.sqrt(1 + norm.eps)))
        norm.bias.data = bias
    normalise(net, invented())
    np.savez(out, **{k: v.numpy() for k, v in net.state_dict().items()})


if __name__ == "__main__":
    main(*sys.argv[1:])
