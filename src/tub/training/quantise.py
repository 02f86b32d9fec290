"""Lets the tub map be worked out in bytes, in place, as src/roots/training/quantise.py does that of roots; the photo stays numbers.

    /usr/bin/python3 quantise.py ../model/tub-map.onnx      # numpy, torch, onnx; two minutes of one core

Steps and rounding are learnt from invented photos.
"""
import importlib.util
import os
import random
import sys

import torch

HERE = os.path.dirname(os.path.abspath(__file__))
PANEL = os.path.join(HERE, "../../roots/training")
sys.path[0:0] = [HERE, PANEL]

from media_album import MediaAlbum      # noqa: E402
from paint import make_photos           # noqa: E402

PHOTOS, AT_ONCE = 48, 12


def _of_panels():
    """src/roots/training/quantise.py has the same name as this file."""
    spec = importlib.util.spec_from_file_location("panel_quantise", os.path.join(PANEL, "quantise.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def main(path):
    torch.manual_seed(5)
    with torch.no_grad():
        album = MediaAlbum(12, 4)
        photos = torch.cat([make_photos(AT_ONCE, album)[0] for _ in range(PHOTOS // AT_ONCE)])
    torch.manual_seed(1)
    random.seed(1)
    _of_panels().quantise(path, photos)


if __name__ == "__main__":
    main(*sys.argv[1:])
