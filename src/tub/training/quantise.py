"""Lets the tub map be worked out in bytes, in place, as src/roots/training/quantise.py does that of roots; the photo stays numbers.

    /usr/bin/python3 quantise.py ../model/tub-map.onnx      # numpy, torch, onnx; two minutes of one core

Steps and rounding are learnt from invented photos.
"""
import os
import random
import sys

import torch

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[0:0] = [HERE, os.path.join(HERE, "../../roots/training")]

from media_album import MediaAlbum      # noqa: E402
from paint import make_photos           # noqa: E402
from panels import of_panels            # noqa: E402

PHOTOS, AT_ONCE = 48, 12


def main(path):
    torch.manual_seed(5)
    with torch.no_grad():
        album = MediaAlbum(12, 4)
        photos = torch.cat([make_photos(AT_ONCE, album)[0] for _ in range(PHOTOS // AT_ONCE)])
    torch.manual_seed(1)
    random.seed(1)
    of_panels("quantise").quantise(path, photos)


if __name__ == "__main__":
    main(*sys.argv[1:])
