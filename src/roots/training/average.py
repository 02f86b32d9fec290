"""The mean of two runs' weights, one taught on from the other.   python3 average.py a/weights.npz b/weights.npz weights.npz"""
import sys

import numpy as np


def main(first, second, out):
    with np.load(first) as a, np.load(second) as b:
        np.savez(out, **{k: ((a[k] + b[k]) / 2 if a[k].dtype.kind == "f" else b[k]) for k in a.files})


if __name__ == "__main__":
    main(*sys.argv[1:])
