"""Surfaces full of lines that are no roots: blades, straws, twigs, leaves, joints between blocks, veins and grain.

Without an earlier photo of the wall nothing tells such lines from roots but how they look. So a few of the pictures are
of them, most without a reference panel. Shapes and colours are by eye; no photograph was used.
"""
import math

import torch
import torch.nn.functional as F

from draw import DEVICE, log_uniform, mix, per_picture, smoothstep, uniform

LAYERS = 7
KEYS = 1021     # random numbers held for the cells of a lattice


def _field(u, v, scale):
    """Smooth noise about zero at places (B,h,w) px; scale (B,1,1) px of a lump."""
    cells = 96
    texture = torch.randn(u.shape[0], 1, cells, cells, device=DEVICE)
    grid = torch.stack((u / scale / cells * 2 - 1, v / scale / cells * 2 - 1), -1)
    return F.grid_sample(texture, grid, mode="bilinear", padding_mode="reflection", align_corners=False)[:, 0] * 1.5


def _turned(u, v, angle):
    c, s = torch.cos(angle), torch.sin(angle)
    return c * u + s * v, c * v - s * u


def _lattice(u, v, wide, long):
    """Places (B,h,w) in rows of cells that slide against each other, wide x long px (B,1,1).

    Gives the place in the cell across and along, each -0.5..0.5, and four random numbers of the cell, (B,h,w,4).
    """
    b = u.shape[0]
    column = torch.floor(u / wide)
    slide = torch.rand(KEYS, device=DEVICE)[column.long() % KEYS]
    down = v / long + slide
    row = torch.floor(down)
    key = (column.long() * 31 + row.long() * 577) % KEYS
    table = torch.rand(b * KEYS, 4, device=DEVICE)
    key = key + (torch.arange(b, device=DEVICE) * KEYS).view(b, 1, 1)
    return u / wide - column - 0.5, down - row - 0.5, F.embedding(key, table)


def _hue(kind, tone):
    """sRGB (B,3,h,w) of grass, straw, wood or stone by kind (B,1,1) 0..1 and tone (B,h,w) 0..1."""
    rgb = lambda r, g, b: torch.stack((tone * r, tone * g, tone * b), 1)
    choices = (rgb(0.62, 0.85, 0.35), rgb(1.0, 0.9, 0.62), rgb(0.85, 0.62, 0.42), rgb(0.95, 0.95, 0.93))
    out = choices[0]
    for i, choice in enumerate(choices[1:], 1):
        out = torch.where((kind >= i / len(choices)).unsqueeze(1), choice, out)
    return out.clamp(0.02, 0.97)


class Surface:
    """One surface a picture: fields as seen (B,h,w), laid over a medium by `over`. on (B,): 1 where there is one."""

    def __init__(self, view, on):
        count = len(on)
        u, v = view.grain_x, view.y.expand_as(view.grain_x)
        one = per_picture
        on = per_picture(on) > 0
        bend = one(uniform(0, 0.35, count) * log_uniform(20, 90, count))
        u = u + bend * _field(u, v, one(log_uniform(40, 200, count)))
        v = v + bend * _field(u, v, one(log_uniform(40, 200, count)))
        hue = one(torch.rand(count, device=DEVICE))
        shape = torch.full_like(u, -1e3)        # height, where the surface hides the medium
        tone = torch.zeros_like(u)
        # blades, straws, twigs and leaves, layer on layer and never sparse: a few straws on a medium pass for roots, and
        # roots for them
        wide, slim = log_uniform(5, 26, count), log_uniform(1.3, 22, count)
        fill, direction, spread = uniform(0.3, 0.95, count), uniform(0, 2 * math.pi, count), log_uniform(0.05, 3, count)
        for _ in range(LAYERS):
            size = one(wide * log_uniform(0.6, 1.6, count))
            uu, vv = _turned(u, v, one(direction + spread * torch.randn(count, device=DEVICE)))
            across, along, random = _lattice(uu + size * 0.4 * _field(uu, vv, size * 3), vv, size, size * one(slim))
            half = (0.12 + 0.36 * random[..., 0]) * (1 - (2 * along).abs() ** one(log_uniform(1, 8, count))).clamp(min=0)
            ridge = 1 - (across / half.clamp(min=1e-3)).abs()
            there = (ridge > 0) & (random[..., 1] < one(fill))
            height = -14 * random[..., 2] + size * half * ridge.clamp(min=0).sqrt()
            wins = there & (height > shape)
            shape = torch.where(wins, height, shape)
            lit = one(log_uniform(0.3, 0.95, count)) * (0.6 + 0.6 * random[..., 3]) * (1 + one(uniform(-0.25, 0.25, count)) * ridge)
            tone = torch.where(wins, lit, tone)
        # joints between blocks
        block = log_uniform(22, 110, count)
        long = log_uniform(1, 4.5, count)
        uu, vv = _turned(u, v, one(uniform(0, 2 * math.pi, count)))
        across, along, random = _lattice(uu, vv, one(block), one(block * long))
        joint = one(log_uniform(0.8, 6, count)) * (1 + 0.3 * _field(u, v, one(log_uniform(5, 30, count))))
        from_edge = torch.minimum((0.5 - across.abs()) * one(block), (0.5 - along.abs()) * one(block * long))
        joints = smoothstep(1.0, -1.0, from_edge - joint)
        rough = 1 + 0.12 * _field(u, v, one(log_uniform(1.5, 6, count)))
        blocks = one(uniform(0.1, 0.6, count)) * (0.8 + 0.4 * random[..., 0]) * rough
        block_tone = mix(blocks, one(uniform(0.15, 0.95, count)) * rough, joints)
        # veins, cracks, fur and the grain of wood: ridges of noise, drawn out along one direction
        uu, vv = _turned(u, v, one(uniform(0, 2 * math.pi, count)))
        lump = one(log_uniform(8, 70, count))
        drawn = one(torch.where(torch.rand(count, device=DEVICE) < 0.5, log_uniform(3, 14, count), torch.ones(count, device=DEVICE)))
        ridge = torch.minimum(_field(uu, vv / drawn, lump).abs(), 1.6 * _field(uu, vv / drawn, lump * 0.55).abs())
        veins = smoothstep(one(log_uniform(0.04, 0.35, count)), 0.0, ridge)
        ground = one(uniform(0.1, 0.6, count)) * rough * (1 + 0.2 * _field(u, v, one(log_uniform(20, 100, count))))
        vein_tone = mix(ground, one(uniform(0.2, 0.95, count)) * rough, veins)

        which = per_picture(torch.rand(count, device=DEVICE))
        strewn, built = which < 0.62, which < 0.78
        floor = strewn & (per_picture(torch.rand(count, device=DEVICE)) < 0.5)     # strewn on plain ground, not on a medium
        self.z = torch.where(strewn, torch.where(floor, shape.clamp(min=-16), shape), torch.where(built, -3 * joints, 2 * veins - 2))
        pale = torch.where(strewn, torch.where(shape > -100, tone, ground), torch.where(built, block_tone, vein_tone))
        self.colour = _hue(hue, pale.clamp(0.03, 0.97)) * (1 + 0.08 * torch.randn(count, 3, 1, 1, device=DEVICE))
        self.hides = on & (~strewn | floor | (shape > -100))
        self.grey = (on & (per_picture(torch.rand(count, device=DEVICE)) < 0.3)).unsqueeze(1)
        line = torch.where(strewn, (shape > -100).float(), torch.where(built, joints, veins))
        self.line = (line > 0.5).float() * on

    def over(self, z, colour, drink):
        """A medium's height, colour and drink with the surface laid over it."""
        shows = self.hides & (self.z > z - 20)
        colour = torch.where(shows.unsqueeze(1), self.colour.clamp(0.01, 0.98), colour)
        colour = torch.where(self.grey, colour.mean(1, keepdim=True).expand_as(colour), colour)
        return torch.where(shows, self.z, z), colour, torch.where(shows, torch.full_like(drink, 0.4), drink)
