#!/usr/bin/python3
"""What a technical user would write in an afternoon to find roots with general image libraries: a ridge filter, to which
the true wall and scale are given. A peer for slipglass_benchmark, which reads its masks and its processor time.

    ridge_filter.py SAMPLES OUT        needs python3-numpy, python3-opencv, python3-skimage
"""
import glob
import json
import os
import sys

import cv2
import numpy as np
from skimage import filters, measure


def ridges(lightness, wall, px_per_mm):
    shown = filters.sato(lightness.astype(float) / 255, sigmas=[s * px_per_mm for s in (0.15, 0.25, 0.4)], black_ridges=False)
    high = np.quantile(shown[wall], 0.97)
    pieces = measure.label(filters.apply_hysteresis_threshold(shown, high / 2, high) & wall)
    keep = np.zeros(pieces.max() + 1, bool)
    for piece in measure.regionprops(pieces):
        keep[piece.label] = piece.major_axis_length > 4 * px_per_mm and piece.eccentricity > 0.9
    return keep[pieces]


def main(samples, out):
    cv2.setNumThreads(1)
    for path in sorted(glob.glob(os.path.join(samples, "truth", "*.truth.json"))):
        stem = os.path.basename(path)[:-len(".truth.json")]
        with open(path) as file:
            px_per_mm = json.load(file)["px_per_mm"]
        photo = cv2.imread(os.path.join(samples, "photos", stem + ".jpg"))
        wall = cv2.imread(path[:-len("truth.json")] + "wall.png", 0) > 127
        lightness = cv2.cvtColor(cv2.GaussianBlur(photo, (0, 0), 1), cv2.COLOR_BGR2LAB)[..., 0]
        cv2.imwrite(os.path.join(out, stem + ".roots.png"), ridges(lightness, wall, px_per_mm).astype(np.uint8) * 255)


if __name__ == "__main__":
    main(*sys.argv[1:])
