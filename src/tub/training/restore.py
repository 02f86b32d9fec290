"""tub-map.onnx -> weights.npz, to go on learning from what ships.   python3 restore.py ../model/tub-map.onnx weights.npz"""
import os
import sys

import numpy as np
import onnx
import torch

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[0:0] = [HERE, os.path.join(HERE, "../../roots/training")]

from media_album import MediaAlbum                                                  # noqa: E402
from model import TubMap                                                            # noqa: E402
from paint import make_photos                                                       # noqa: E402
from unfold import convolutions, normalise, norms, order_of, worked_in              # noqa: E402

BATCHES = 12


def main(path, out):
    net = TubMap().eval().cpu()
    norm_of = norms(net)
    order = order_of(net, torch.zeros(1, 4, 64, 64))
    saved = convolutions(onnx.load(path).graph)
    assert len(saved) == len(order), (len(saved), len(order))
    for m, (weight, bias) in zip(order, saved):
        m.weight.data = weight
        if m in norm_of:
            worked_in(norm_of[m], bias)
        else:
            m.bias.data = bias
    torch.manual_seed(1)
    album = MediaAlbum(24, 8)
    with torch.no_grad():
        photos = [make_photos(8, album)[0] for _ in range(BATCHES)]
    normalise(net, photos, net)
    np.savez(out, **{k: v.numpy() for k, v in net.state_dict().items()})


if __name__ == "__main__":
    main(*sys.argv[1:])
