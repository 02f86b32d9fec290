"""Flat pieces of wall for invented tubs: media with and without roots, surfaces of lines, and plain fillings.

The media are those the root map learns from (src/roots/training), lit, before any camera.
"""
import torch
import torch.nn.functional as F

from draw import DEVICE, chance, log_uniform, mix, noise, per_picture, uniform
from photograph import Occasion, _light, _wet, to_linear
from scene import make_scenes

DRAWN, SIDE = 576, 288          # px drawn at 0.15 mm, kept at half of that
MM = 0.3                        # of a kept pixel


def _lit(count):
    view, first, later, _ = make_scenes(count, DRAWN)
    fields = later if torch.rand(1).item() < 0.6 else torch.cat((first, later[:, 5:]), 1)
    occasion = Occasion(view)
    occasion.level.fill_(1e4)
    linear, _, _ = _wet(view, fields[:, 0], fields[:, 2:5], fields[:, 1], occasion, count)
    light = _light(fields[:, 0], linear, count)
    return F.avg_pool2d(view.unroll(light), 2).clamp(0, 2)


def _plain(count):
    """Stripes, squares, noise, nothing: no medium looks like that, but a tub can be filled with anything."""
    y, x = torch.meshgrid(torch.arange(SIDE, device=DEVICE), torch.arange(SIDE, device=DEVICE), indexing="ij")
    out = []
    for _ in range(count):
        period, share = log_uniform(6, 60, 1), uniform(0.2, 0.7, 1)
        turn = uniform(0, 6.3, 1)
        u, v = x * torch.cos(turn) + y * torch.sin(turn), y * torch.cos(turn) - x * torch.sin(turn)
        kind = torch.randint(4, (1,)).item()
        one = ((u % period) < share * period).float()
        if kind == 1:
            one = ((one + ((v % period) < share * period).float()) == 1).float()
        elif kind == 2:
            one = noise((1, SIDE, SIDE), log_uniform(2, 12, 1), 2)[0].clamp(-2, 2) * 0.35 + 0.5
        elif kind == 3:
            one = torch.full_like(one, 0.5) + 0.05 * torch.randn_like(one)
        a, b = torch.rand(3, 1, 1, device=DEVICE) * 0.6 + 0.02, torch.rand(3, 1, 1, device=DEVICE) * 0.6 + 0.02
        out.append(mix(a, b, one))
    return torch.stack(out).clamp(0, 1)


class MediaAlbum:
    def __init__(self, room, batch=16):
        parts = []
        with torch.no_grad():
            while sum(len(p) for p in parts) < room * 0.94:
                parts.append(_lit(batch).half())
            parts.append(_plain(max(2, int(room * 0.06))).half())
        self.pictures = torch.cat(parts)

    def pick(self, count):
        """A Texture for each of so many pictures."""
        return Texture(self.pictures[torch.randint(len(self.pictures), (count,), device=DEVICE)].float())


class Texture:
    """A picture (B,3,SIDE,SIDE) laid out flat, in a random scale, repeated in mirror image."""

    def __init__(self, pictures, scale=(0.6, 1.6)):
        b = len(pictures)
        self.mm = per_picture(log_uniform(*scale, b) * MM)
        self.off = [per_picture(uniform(0, 2 * SIDE, b)) for _ in range(2)]
        self.pictures = pictures

    def at(self, u, v, mm_per_px):
        """Colours (B,3,H,W) at places (B,H,W) mm, smoothed for pixels of a size (B,1,1) mm."""
        ratio = (mm_per_px / self.mm).view(-1, 1, 1, 1)
        soft = self.pictures
        for step in (2, 4, 8):
            coarse = F.interpolate(F.avg_pool2d(self.pictures, step), scale_factor=step, mode="bilinear", align_corners=False)
            soft = torch.where(ratio > step / 1.5, coarse, soft)
        # reflection by hand: a place far out is folded back
        def fold(p, off):
            q = torch.remainder(p / self.mm + off, 2 * SIDE)
            return torch.minimum(q, 2 * SIDE - q) / SIDE * 2 - 1
        grid = torch.stack((fold(u, self.off[0]), fold(v, self.off[1])), -1)
        return F.grid_sample(soft, grid, mode="bilinear", padding_mode="border", align_corners=False)
