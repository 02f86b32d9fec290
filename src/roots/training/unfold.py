"""From a map's ONNX file, each convolution of which holds its batch normalisation worked in, back to layers that can learn.

That is undone with the means and spreads that invented pictures give: the answers stay the same, and further learning meets the
normalisation it is used to.
"""
import numpy as np
import torch
import torch.nn as nn
from onnx import numpy_helper


def convolutions(graph):
    """Weight and bias of every learnt convolution, in the order in which they are worked out."""
    held = {i.name: numpy_helper.to_array(i) for i in graph.initializer}
    found = [n for n in graph.node if n.op_type in ("Conv", "ConvTranspose") and len(n.input) == 3]
    return [tuple(torch.from_numpy(held[name].copy()) for name in n.input[1:]) for n in found]


def norms(net):
    """The normalisation after each convolution that has one."""
    return {block[0]: block[1] for block in net.modules()
            if isinstance(block, nn.Sequential) and len(block) > 1 and isinstance(block[1], nn.BatchNorm2d)}


def order_of(net, picture):
    """The learnt convolutions in the order in which they are worked out."""
    order = []
    hooks = [m.register_forward_hook(lambda m, _, __: order.append(m))
             for m in net.modules() if isinstance(m, (nn.Conv2d, nn.ConvTranspose2d))]
    with torch.no_grad():
        net(picture)
    for hook in hooks:
        hook.remove()
    return order


def worked_in(norm, bias):
    """A normalisation that only adds this: all else of it is in the weights before it."""
    norm.weight.data.fill_(float(np.sqrt(1 + norm.eps)))
    norm.bias.data = bias


def normalise(net, pictures, answer):
    """Gives every normalisation the mean and spread that it meets on these batches; the answers stay the same."""
    sums, norm_of = {}, norms(net)
    hooks = [norm.register_forward_hook(lambda m, _, y: sums.setdefault(m, []).append((y.mean((0, 2, 3)), (y * y).mean((0, 2, 3)))))
             for norm in norm_of.values()]
    with torch.no_grad():
        before = answer(pictures[0])
        for batch in pictures[1:]:
            net(batch)
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
        print("answers differ by", (answer(pictures[0]) - before).abs().max().item())
