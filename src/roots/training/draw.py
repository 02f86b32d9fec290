"""Drawing aids for invented panels: random numbers, noise, blur, and distance to many curves at once.

Everything is a batch of pictures as torch tensors, so that a graphics card makes them as fast as it learns from them.
Lengths are in pixels of 0.15 mm unless a name ends in _mm.
"""
import math
import os
import struct
import zlib

import torch
import torch.nn.functional as F

MM = 1 / 0.15  # pixels in a millimetre
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"
if DEVICE == "cuda":
    torch.cuda.set_device(int(os.environ.get("LOCAL_RANK", 0)))   # before the first tensor is made


def fast(function):
    """Fuse a chain of pixel sums on a graphics card; anywhere else, or if that fails, run it as it stands."""
    if DEVICE != "cuda" or not hasattr(torch, "compile"):
        return function
    fused = [torch.compile(function, dynamic=False)]

    def call(*args):
        if fused:
            try:
                return fused[0](*args)
            except Exception as problem:  # the plain function gives the same numbers, slower
                print("not fused:", function.__name__, str(problem)[:300], flush=True)
                fused.clear()
        return function(*args)
    return call


def uniform(lo, hi, *shape):
    return lo + (hi - lo) * torch.rand(*shape, device=DEVICE)


def log_uniform(lo, hi, *shape):
    return torch.exp(uniform(math.log(lo), math.log(hi), *shape))


def chance(p, *shape):
    """1.0 with probability p, else 0.0."""
    return (torch.rand(*shape, device=DEVICE) < p).float()


def per_picture(values):
    """(B,) -> (B,1,1), to multiply pictures with."""
    return values.view(-1, 1, 1)


def mix(a, b, t):
    return a + (b - a) * t


def smoothstep(lo, hi, x):
    t = ((x - lo) / (hi - lo)).clamp(0, 1)
    return t * t * (3 - 2 * t)


def noise(size, scale, octaves=1):
    """Smooth noise, about zero mean and unit spread. size (B,H,W); scale: (B,) px of the largest lumps."""
    b, h, w = size
    total = torch.zeros(size, device=DEVICE)
    weight = 0.0
    ys = torch.linspace(0, h - 1, h, device=DEVICE).view(1, h, 1)
    xs = torch.linspace(0, w - 1, w, device=DEVICE).view(1, 1, w)
    for octave in range(octaves):
        grains = 160
        texture = torch.randn(b, 1, grains, grains, device=DEVICE)
        px = per_picture((scale / 2 ** octave).clamp(min=1.5))
        gx = (xs / px / grains * 2 - 1).expand(b, h, w)
        gy = (ys / px / grains * 2 - 1).expand(b, h, w)
        layer = F.grid_sample(texture, torch.stack((gx, gy), -1), mode="bilinear", padding_mode="reflection",
                              align_corners=False)[:, 0]
        total += layer * 0.6 ** octave * 1.5
        weight += 0.36 ** octave
    return total / math.sqrt(weight)


def _kernel(sigma):
    reach = max(1, int(3 * sigma + 0.5))
    x = torch.arange(-reach, reach + 1, device=DEVICE, dtype=torch.float32)
    k = torch.exp(-0.5 * (x / sigma) ** 2)
    return k / k.sum()


def blur(pictures, sigma):
    """Gaussian blur of (B,C,H,W) with one sigma for all."""
    if sigma > 3.0:  # coarse is good enough and far cheaper
        factor = 4 if sigma > 6 else 2
        small = F.avg_pool2d(pictures, factor)
        small = blur(small, math.sqrt(max(sigma ** 2 - factor ** 2 / 4, 0.25)) / factor)
        return F.interpolate(small, size=pictures.shape[-2:], mode="bilinear", align_corners=False)
    b, c, h, w = pictures.shape
    k = _kernel(sigma)
    r = len(k) // 2
    flat = pictures.reshape(b * c, 1, h, w)
    flat = F.conv2d(F.pad(flat, (r, r, 0, 0), mode="replicate"), k.view(1, 1, 1, -1))
    flat = F.conv2d(F.pad(flat, (0, 0, r, r), mode="replicate"), k.view(1, 1, -1, 1))
    return flat.view(b, c, h, w)


def filter_each(pictures, kernels):
    """One small kernel (K,K) per picture: pictures (B,C,H,W), kernels (B,K,K)."""
    b, c, h, w = pictures.shape
    k = kernels.shape[-1]
    weights = kernels.repeat_interleave(c, 0).unsqueeze(1)
    padded = F.pad(pictures, (k // 2,) * 4, mode="replicate").reshape(1, b * c, h + k - 1, w + k - 1)
    return F.conv2d(padded, weights, groups=b * c).view(b, c, h, w)


POINTS = 6144  # points a set of curves is filled up to, so that every set has one shape


def _distance(index, table, xs, ys):
    p = F.embedding(index, table)
    dx, dy = xs - p[..., 0], ys - p[..., 1]
    along = (dx * p[..., 3] + dy * p[..., 4]).abs()
    perp = dx * p[..., 4] - dy * p[..., 3]
    beyond = (along - 1.0).clamp(min=0)
    return torch.sqrt(perp * perp + beyond * beyond) - p[..., 2]


@fast
def _closer(best, index, other, table, xs, ys):
    c = _distance(other, table, xs, ys)
    better = c < best
    return torch.where(better, c, best), torch.where(better, other, index)


class Curves:
    """Points along many curves; after `nearest` every pixel knows its nearest curve point.

    x, y, r: (B,N) px; keep: (B,N) bool; tx, ty: unit tangents (B,N); extra: dict of (B,N) carried along.
    """

    def __init__(self, x, y, r, tx, ty, keep, extra):
        self.x, self.y, self.r, self.tx, self.ty, self.keep, self.extra = x, y, r, tx, ty, keep, extra

    def nearest(self, h, w, steps):
        """Jump flooding. Gives outside (B,H,W): px outside the curve's edge (negative inside), across: -1..1 over the
        width, and the nearest point's index for `carry`."""
        b, n = self.x.shape
        spare = POINTS - n
        def filled(v, value):
            return torch.cat((v, torch.full((b, spare), value, device=DEVICE)), 1)
        table = torch.stack((filled(self.x, 1e6), filled(self.y, 1e6), filled(self.r, 0.0), filled(self.tx, 1.0),
                             filled(self.ty, 0.0)), -1).view(-1, 5)
        base = (torch.arange(b, device=DEVICE) * POINTS).view(b, 1)
        none = (base + POINTS - 1).view(b, 1, 1)
        col, row = self.x.round().long(), self.y.round().long()
        inside = self.keep & (col >= 0) & (col < w) & (row >= 0) & (row < h)
        index = none.expand(b, 1, h * w + 1).reshape(b, -1).clone()
        where = torch.where(inside, row * w + col, torch.full_like(col, h * w))
        index.scatter_(1, where, base + torch.arange(n, device=DEVICE).view(1, n))
        index = index[:, :-1].reshape(b, h, w)
        ys = torch.arange(h, device=DEVICE, dtype=torch.float32).view(1, h, 1)
        xs = torch.arange(w, device=DEVICE, dtype=torch.float32).view(1, 1, w)
        best = _distance(index, table, xs, ys)
        for step in steps:
            wide = none.expand(b, h + 2 * step, w + 2 * step).clone()
            wide[:, step:-step, step:-step] = index
            for dy in (0, step, 2 * step):
                for dx in (0, step, 2 * step):
                    if dx == step and dy == step:
                        continue
                    other = wide[:, dy:dy + h, dx:dx + w].contiguous()
                    best, index = _closer(best, index, other, table, xs, ys)
        p = F.embedding(index, table)
        perp = (xs - p[..., 0]) * p[..., 4] - (ys - p[..., 1]) * p[..., 3]
        across = perp / p[..., 2].clamp(min=0.3)
        self._index = index
        return best, across.clamp(-1.5, 1.5)

    def carry(self, name):
        """The named extra of the nearest curve point, or its r, tx or ty, (B,H,W)."""
        values = self.extra[name] if name in self.extra else getattr(self, name)
        b = values.shape[0]
        flat = torch.cat((values, torch.zeros((b, POINTS - values.shape[1]), device=DEVICE)), 1).reshape(-1)
        return flat[self._index]


def write_png(path, rgb):
    h, w, _ = rgb.shape
    raw = b"".join(b"\0" + rgb[i].tobytes() for i in range(h))
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    with open(path, "wb") as f:
        f.write(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", w, h, 8, 2, 0, 0, 0)) +
                chunk(b"IDAT", zlib.compress(raw, 6)) + chunk(b"IEND", b""))
