"""full.onnx -> weights.npz, to go on learning from a map with the head that export.py writes.   python3 restore.py full.onnx weights.npz

Only learnt parts that ship come back; what was learnt beside them (model.py) starts anew.
"""
import sys

import numpy as np
import onnx
import torch
import torch.nn as nn

from model import RootMap
from train import new_scenes, photographed
from unfold import convolutions, normalise, norms, order_of, worked_in

PANELS = 48


def invented():
    """Pairs of panels, in some batches."""
    torch.manual_seed(1)
    return [photographed(new_scenes(12))[0] for _ in range(PANELS // 12)]


def main(path, out):
    net = RootMap().eval()
    order = order_of(net, torch.zeros(1, 6, 64, 64))
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
        worked_in(norm, bias)
    normalise(net, invented(), lambda panels: net(panels)[0])
    np.savez(out, **{k: v.numpy() for k, v in net.state_dict().items()})


if __name__ == "__main__":
    main(*sys.argv[1:])
