"""weights.npz -> root-map.onnx, for any panel size in multiples of 32.   python3 export.py weights.npz root-map.onnx

Then quantise.py, so that it is worked out in bytes.
"""
import inspect
import sys

import numpy as np
import torch
import torch.nn.functional as F

from model import RootMap, load


PLANES = 13


class WithFeatures(RootMap):
    """From the thirteen planes, which the program makes itself: the probabilities of roots, the features the last layer made
    them from, so that `slipglass teach` can redo that layer, and the probabilities of water at a quarter of the size."""

    def look_at_all(self):
        """Lets `fine` take all planes, of which only the pair's six count: a convolution is cheaper than leaving planes out. And
        `down1` take halves of the evened ones, as model.shown_planes() gives them."""
        self.down1[0].weight.data[:, 6:12] *= 2
        weight = self.fine[0].weight.data
        self.fine[0] = torch.nn.Conv2d(PLANES, len(weight), 3, padding=1, bias=False)
        self.fine[0].weight.data = torch.cat((weight, torch.zeros(len(weight), PLANES - weight.shape[1], 3, 3)), 1)

    def forward(self, planes):
        features, level = self.look(self.fine(planes), planes)
        water = torch.sigmoid(self.water(level))
        return torch.sigmoid(F.conv2d(features, self.out.weight[:2], self.out.bias[:2])), features, water


def fold_last_upsampling(net):
    """Works the batch normalisation after the transposed convolution into its weights.

    OpenCV 4.6 does that itself, but once more for each further panel size it is given, and then answers wrongly.
    """
    up, norm = net.up0[0], net.up0[1]
    with torch.no_grad():
        gain = norm.weight / torch.sqrt(norm.running_var + norm.eps)
        up.weight.mul_(gain.view(1, -1, 1, 1))
        up.bias = torch.nn.Parameter(norm.bias - norm.running_mean * gain)
    net.up0[1] = torch.nn.Identity()


def main(weights, onnx):
    net = WithFeatures().cpu()
    with np.load(weights) as saved:
        load(net, {k: torch.from_numpy(saved[k]) for k in saved.files})
    net.look_at_all()
    net.eval()
    fold_last_upsampling(net)
    legacy = {"dynamo": False} if "dynamo" in inspect.signature(torch.onnx.export).parameters else {}
    # Fixed size here: OpenCV 4.6 needs it to read sums of two tensors, and adapts to the panel it is given afterwards.
    torch.onnx.export(net, torch.zeros(1, PLANES, 512, 512), onnx, opset_version=11, input_names=["planes"],
                      output_names=["roots", "features", "water"], **legacy)


if __name__ == "__main__":
    main(*sys.argv[1:])
