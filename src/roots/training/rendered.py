"""Rendered tubs that pack_rendered.py has packed, as crops to learn from beside the invented panels."""
import io
import random

import numpy as np
import torch
import torch.nn.functional as F
from PIL import Image


class Rendered:
    """What main() has packed, on the card; needs PIL."""

    def __init__(self, path, device):
        def pictures(name):
            ends, held = packed[name + "_end"], packed[name].tobytes()
            for a, b in zip([0, *ends[:-1]], ends):
                picture = np.asarray(Image.open(io.BytesIO(held[a:b])))
                yield torch.from_numpy(picture.copy()).permute(2, 0, 1).to(device)
        with np.load(path) as packed:
            self.todays, self.pasts, self.truths, self.waters = (list(pictures(k)) for k in ("todays", "pasts", "truths", "waters"))
            self.of = packed["of"].tolist()
            self.shares = [torch.from_numpy(v).to(device) for v in np.split(packed["shares"], packed["shares_end"][:-1])]
        # colours come as B,G,R: written by OpenCV, read as R,G,B
        self.todays, self.pasts = ([v.flip(0) for v in k] for k in (self.todays, self.pasts))
        self.truths, self.waters = ([v.flip(0) for v in k] for k in (self.truths, self.waters))
        # what there is too little of: roots, and water standing
        self.weights = [1 + 2 * bool(truth[0].any()) + 2 * bool((water[1] > 40).any()) for truth, water in zip(self.truths, self.waters)]
        self.past_of = {}
        for past, today in enumerate(self.of):
            self.past_of.setdefault(today, []).append(past)

    def show(self, count, size, alone=0.35):
        """count crops: pair, target (the third plane, lines that are none, unknown: 2), water, share, as train.py's album gives."""
        crops = []
        for today in random.choices(range(len(self.todays)), self.weights, k=count):
            panel = self.todays[today]
            h, w = panel.shape[1:]
            past = random.choice(self.past_of[today]) if today in self.past_of and random.random() > alone else None
            low = max(h - size, 0) // 4      # half of them show the base, where water is told from none
            y, x = 4 * (low if random.random() < 0.5 else random.randint(0, low)), 4 * random.randint(0, max(w - size, 0) // 4)
            cut = lambda v, k=1: self._filled(v[..., y // k:(y + size) // k, x // k:(x + size) // k], size // k)
            both = torch.cat((panel, torch.zeros_like(panel) if past is None else self.pasts[past]))
            target = (cut(self.truths[today]) > 127).float()
            target[2] = 2
            crops.append((cut(both).float() / 255, target, cut(self.waters[today], 4).float() / 255,
                          self._filled(self.shares[today][None, None, x:x + size].expand(1, size, -1), size)[:, :1]))
        return tuple(torch.stack(v) for v in zip(*crops))

    @staticmethod
    def _filled(part, size):
        return F.pad(part, (0, size - part.shape[-1], 0, size - part.shape[-2]))
