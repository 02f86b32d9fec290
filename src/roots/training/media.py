"""Invented rooting media: what fills the tub, as height below the wall and colour, grain by grain.

Colours are sRGB as 0..1 and, like all shapes here, chosen by eye for this program: none was measured.
"""
import math

import torch
import torch.nn.functional as F

from draw import DEVICE, chance, fast, log_uniform, mix, noise, per_picture, smoothstep, uniform

#            name           r     g     b   spread facet aspect stripe  sizes: dust fine medium coarse
MATERIALS = [
    ("perlite",            0.84, 0.83, 0.80, 0.07, 0.35, 0.70, 0.00, (0.3, 0.8, 1.0, 0.8)),
    ("vermiculite",        0.56, 0.42, 0.24, 0.24, 0.90, 0.55, 1.00, (0.5, 1.0, 1.0, 0.5)),
    ("peat",               0.20, 0.13, 0.09, 0.13, 0.60, 0.60, 0.10, (1.0, 1.0, 0.5, 0.1)),
    ("bark",               0.33, 0.20, 0.12, 0.16, 0.95, 0.40, 0.50, (0.1, 0.5, 1.0, 1.0)),
    ("grit",               0.55, 0.50, 0.44, 0.30, 0.85, 0.70, 0.05, (0.8, 1.0, 0.9, 0.4)),
    ("soil",               0.20, 0.145, 0.11, 0.12, 0.40, 0.75, 0.00, (1.0, 1.0, 0.7, 0.3)),
    ("coir",               0.40, 0.26, 0.15, 0.16, 0.60, 0.40, 0.40, (1.0, 1.0, 0.5, 0.2)),
    ("pumice",             0.66, 0.58, 0.50, 0.16, 0.45, 0.80, 0.00, (0.2, 0.7, 1.0, 0.9)),
    ("charcoal",           0.09, 0.09, 0.10, 0.04, 0.95, 0.60, 0.10, (0.2, 0.4, 0.5, 0.4)),
    ("prill",              0.74, 0.67, 0.46, 0.14, 0.00, 0.95, 0.00, (0.0, 0.2, 0.8, 0.0)),
]
#          perl  verm  peat  bark  grit  soil  coir  pumi  char  prill, how often
MIXES = [((0.50, 0.50, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.0), 3),
         ((0.33, 0.33, 0.34, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.0), 3),
         ((0.40, 0.00, 0.60, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.0), 3),
         ((0.00, 1.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.0), 3),
         ((0.10, 0.02, 0.10, 0.25, 0.05, 0.60, 0.05, 0.00, 0.00, 0.04), 3),
         ((0.00, 0.00, 1.00, 0.04, 0.00, 0.05, 0.00, 0.00, 0.00, 0.0), 3),
         ((1.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.0), 1),
         ((0.10, 0.00, 0.10, 0.80, 0.05, 0.05, 0.00, 0.05, 0.05, 0.0), 1),
         ((0.10, 0.00, 0.10, 0.00, 0.80, 0.10, 0.00, 0.10, 0.00, 0.0), 2),
         ((0.35, 0.00, 0.00, 0.00, 0.00, 0.00, 0.65, 0.00, 0.00, 0.0), 2),
         ((0.00, 0.00, 0.10, 0.15, 0.10, 0.20, 0.00, 0.60, 0.05, 0.02), 1),
         # pale and coarse, hardly darker than the roots
         ((0.30, 0.00, 0.00, 0.30, 0.05, 0.00, 0.00, 0.35, 0.00, 0.0), 3),
         ((0.20, 0.00, 0.05, 0.00, 0.10, 0.00, 0.00, 0.65, 0.00, 0.0), 2)]
SIDE = 192  # grains along a side of the grid, for every size
PITCHES = [(3.6, 6.5), (6.5, 13), (13, 26), (26, 58)]   # px between grain middles: dust, fine, medium, coarse


@fast
def _one_grain(best, owner, along, rise, gx, gy, u, v, base, table, pitch):
    """Lay the grain of grid cell (u, v) over what lies there so far."""
    index = base + (v.long() + SIDE // 2) % SIDE * SIDE + (u.long() + SIDE // 2) % SIDE
    g = F.embedding(index, table)
    dx = (gx - u - 0.5 - g[..., 0]) * pitch
    dy = (gy - v - 0.5 - g[..., 1]) * pitch
    radius = g[..., 2].clamp(min=1e-3)
    p = (dx * g[..., 3] + dy * g[..., 4]) / radius
    q = (dy * g[..., 3] - dx * g[..., 4]) / radius * g[..., 5]
    round_top = torch.sqrt((1 - p * p - q * q).clamp(min=0)) - 1e-3
    flat_top = 0.75 + p * g[..., 19] + q * g[..., 20]
    for i in range(5):
        flat_top = torch.minimum(flat_top, 1.7 * (1 - p * g[..., 9 + 2 * i] - q * g[..., 10 + 2 * i]))
    top = mix(round_top, flat_top, g[..., 8])
    z = g[..., 6] - g[..., 21] + radius * g[..., 7] * (top - 0.95)
    z = torch.where((top > 0) & (g[..., 2] > 0), z.clamp(max=0) + 0.02 * z.clamp(min=0), torch.full_like(z, -1e3))
    better = z > best
    return (torch.where(better, z, best), torch.where(better, index, owner),
            torch.where(better, q * radius / g[..., 5], along), torch.where(better, top, rise))


class Grains:
    """The grains of one size, on a jittered, turned grid: enough to redraw them after some have moved."""

    def __init__(self, count, level, shares, h, w):
        lo, hi = PITCHES[level]
        self.pitch = log_uniform(lo, hi, count)
        self.turn = uniform(0, 2 * math.pi, count)
        self.side = SIDE
        n = self.side ** 2
        self.shares = shares
        size_taste = torch.tensor([m[8][level] for m in MATERIALS], device=DEVICE)
        weight = shares * size_taste
        fill = (weight.sum(1, keepdim=True) * uniform(0.7, 2.0, count, 1)).clamp(0.02, 0.97)
        kind = torch.multinomial(weight + 1e-6, n, replacement=True)
        props = torch.tensor([m[1:8] for m in MATERIALS], device=DEVICE)
        p = F.embedding(kind, props)
        pitch = self.pitch.view(-1, 1)
        radius = pitch * uniform(0.3, 1, count, n).pow(0.7) * uniform(0.66, 0.86, count, 1)
        radius = radius * (torch.rand(count, n, device=DEVICE) < fill)
        aspect = (p[..., 5] * uniform(0.7, 1.35, count, n)).clamp(0.25, 1)
        tilt = uniform(0, 2 * math.pi, count, n)
        facet = (p[..., 4] + uniform(-0.25, 0.25, count, n)).clamp(0, 1)
        deep = uniform(-0.85, 0.15, count, n) * torch.maximum(radius, torch.full_like(radius, 5.0)) * uniform(0.5, 1.3, count, 1)
        self.jitter = uniform(-0.46, 0.46, count, n, 2)
        planes = [self.jitter[..., 0], self.jitter[..., 1], radius, torch.cos(tilt), torch.sin(tilt), 1 / aspect, deep,
                  uniform(0.5, 1.0, count, n), facet]
        start = uniform(0, 2 * math.pi, count, n)
        for i in range(5):
            direction = start + (i + uniform(-0.3, 0.3, count, n)) * 2 * math.pi / 5
            reach = uniform(0.6, 1.05, count, n)
            planes += [torch.cos(direction) / reach, torch.sin(direction) / reach]
        planes += [uniform(-0.35, 0.35, count, n), uniform(-0.35, 0.35, count, n)]
        self.shape = torch.stack(planes, -1)
        light = uniform(-1, 1, count, n, 1)
        hue = uniform(-0.09, 0.09, count, n, 3)
        spread = p[..., 3:4]
        colour = (p[..., 0:3] * (1 + spread * (1.6 * light + hue)) + 0.25 * spread * light).clamp(0.02, 0.97)
        drink = uniform(0.4, 1.2, count, n, 1) * (1 - 0.4 * (kind == 0).unsqueeze(-1).float())
        self.look = torch.cat((colour, p[..., 6:7] * uniform(0, 0.5, count, n, 1) , drink), -1)
        self.moved = torch.zeros(count, n, device=DEVICE)

    def centres(self):
        """Where the grains' middles are laid out, (B,n) x and y."""
        i = torch.arange(self.side, device=DEVICE, dtype=torch.float32) - self.side / 2
        v, u = torch.meshgrid(i, i, indexing="ij")
        pitch = self.pitch.view(-1, 1)
        gx = (u.reshape(1, -1) + 0.5 + self.shape[..., 0]) * pitch
        gy = (v.reshape(1, -1) + 0.5 + self.shape[..., 1]) * pitch
        c, s = torch.cos(self.turn).view(-1, 1), torch.sin(self.turn).view(-1, 1)
        return c * gx - s * gy, s * gx + c * gy

    def draw(self, x, y):
        """Height below the wall (0 = touching, more negative = deeper; px), winning grain, place on it, and rise over its rim."""
        b, h, w = x.shape
        c, s = per_picture(torch.cos(self.turn)), per_picture(torch.sin(self.turn))
        pitch = per_picture(self.pitch)
        gx, gy = (c * x + s * y) / pitch, (-s * x + c * y) / pitch
        u, v = torch.floor(gx), torch.floor(gy)
        table = torch.cat((self.shape, self.moved.unsqueeze(-1)), -1).view(-1, self.shape.shape[-1] + 1)
        base = (torch.arange(b, device=DEVICE) * self.side ** 2).view(b, 1, 1)
        best = torch.full((b, h, w), -1e3, device=DEVICE)
        owner = torch.zeros((b, h, w), dtype=torch.long, device=DEVICE)
        along = torch.zeros((b, h, w), device=DEVICE)
        rise = torch.ones((b, h, w), device=DEVICE)
        for dv in (-1, 0, 1):
            for du in (-1, 0, 1):
                best, owner, along, rise = _one_grain(best, owner, along, rise, gx, gy, u + du, v + dv, base, table, pitch)
        return best, owner, along, rise


class Medium:
    """What fills a batch of tubs. `draw` gives height (B,H,W), colour (B,3,H,W) and how far each pixel darkens wet."""

    def __init__(self, count, h, w):
        self.size = (count, h, w)
        often = torch.tensor([m[1] for m in MIXES], dtype=torch.float32, device=DEVICE)
        table = torch.tensor([m[0] for m in MIXES], device=DEVICE)
        shares = table[torch.multinomial(often, count, replacement=True)]
        wild = torch.rand(count, len(MATERIALS), device=DEVICE) ** 4
        shares = shares * uniform(0.5, 1.5, count, len(MATERIALS)) + chance(0.2, count, 1) * wild
        self.sizes = [Grains(count, level, shares / shares.sum(1, keepdim=True), h, w) for level in range(4)]
        props = torch.tensor([m[1:4] for m in MATERIALS], device=DEVICE)
        fines = shares * torch.tensor([m[8][0] for m in MATERIALS], device=DEVICE) + 1e-3
        self.soil = (fines / fines.sum(1, keepdim=True)) @ props * uniform(0.25, 0.8, count, 1)
        tint = 1 + uniform(-0.12, 0.12, count, 3)
        self.tint = (tint * uniform(0.75, 1.2, count, 1)).view(count, 3, 1, 1)
        self.floor = -per_picture(log_uniform(5, 22, count))
        self.rough = noise(self.size, log_uniform(6, 20, count), 3)
        self.grain_noise = noise(self.size, log_uniform(2, 5, count), 2)
        self.rim = per_picture(uniform(0.1, 0.6, count))
        self.stripe = per_picture(uniform(1.2, 2.6, count))

    def settle(self, view, near_root, root_radius, share_pushed):
        """Grains give way where a root now lies; a few others shift or go. near_root (B,H,W): px to the root's edge, as seen."""
        b, h, w = near_root.shape
        for grains in self.sizes:
            x, y = grains.centres()
            grid = torch.stack((view.seen_grain(x) / w * 2 - 1, y / h * 2 - 1), -1).unsqueeze(1)
            gap = F.grid_sample(near_root.unsqueeze(1), grid, align_corners=False, padding_mode="border")[:, 0, 0]
            touched = (gap < 0.75 * grains.shape[..., 2]) & (torch.rand_like(gap) < share_pushed.view(-1, 1))
            push = uniform(0.35, 1, *gap.shape) * (root_radius.view(-1, 1) * 2 + 3).clamp(max=17)
            grains.moved = touched * push
            stir = (torch.rand_like(gap) < uniform(0, 0.1, b, 1) ** 2 * 3).unsqueeze(-1)
            step = uniform(-1, 1, *gap.shape, 2) * 2.5 / grains.pitch.view(-1, 1, 1)
            grains.shape[..., 0:2] = (grains.shape[..., 0:2] + stir * step).clamp(-0.49, 0.49)
            grains.moved += (torch.rand_like(gap) < 0.01) * uniform(0, 8, *gap.shape)

    def draw(self, x, y):
        z = self.floor + 1.2 * self.rough
        colour = self.soil.view(-1, 3, 1, 1).expand(-1, -1, *self.size[1:]) * (1 + 0.22 * self.rough.unsqueeze(1))
        drink = torch.ones_like(z)
        for grains in self.sizes:
            top, owner, along, rise = grains.draw(x, y)
            look = F.embedding(owner, grains.look.view(-1, 5))
            wins = top > z
            stripes = 1 + look[..., 3] * torch.sin(along * self.stripe)
            paint = (look[..., :3] * (stripes * (1 - self.rim * smoothstep(0.45, 0.0, rise))).unsqueeze(-1)).permute(0, 3, 1, 2)
            colour = torch.where(wins.unsqueeze(1), paint, colour)
            drink = torch.where(wins, look[..., 4], drink)
            z = torch.where(wins, top, z)
        z = z + 0.25 * self.grain_noise
        return z, (colour * self.tint * (1 + 0.07 * self.grain_noise.unsqueeze(1))).clamp(0.01, 0.98), drink
