"""weights.npz -> tub-map.onnx, for any size in multiples of 32.   python3 export.py weights.npz tub-map.onnx"""
import inspect
import os
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[0:0] = [HERE, os.path.join(HERE, "../../roots/training")]

import numpy as np            # noqa: E402
import torch                  # noqa: E402

from model import TubMap      # noqa: E402


def main(weights, onnx):
    net = TubMap().cpu()
    with np.load(weights) as saved:
        net.load_state_dict({k: torch.from_numpy(saved[k]) for k in saved.files})
    net.eval()
    legacy = {"dynamo": False} if "dynamo" in inspect.signature(torch.onnx.export).parameters else {}
    # Fixed size here: OpenCV 4.6 needs it to read sums of two tensors, and adapts to the photo it is given afterwards.
    torch.onnx.export(net, torch.zeros(1, 4, 384, 384), onnx, opset_version=11, input_names=["photo"], output_names=["map"], **legacy)


if __name__ == "__main__":
    main(*sys.argv[1:])
