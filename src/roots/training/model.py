"""The network that ships: thirteen planes of a panel pair (light.py) in; out come three probabilities at the panel's size:
root, browned root, and line that is no root; and two at a quarter of it: below standing water, and on the line where its
surface meets the wall. The line that is no root is only learnt, so that the features tell such lines apart; export.py leaves
it out. It learns from the answers of a larger network (teacher.py) and from the truth.

Only layers that the program's engine (src/network) and OpenCV's dnn module read: convolution, transposed convolution by
whole steps, average pooling along a row, bilinear resize by two, ReLU, sigmoid and sums.
"""
from dataclasses import dataclass

import torch.nn as nn
import torch.nn.functional as F

from light import PLANES

FEATURES = 12
ROWS = (9, 33)      # at an eighth of the panel's size
LAST = 16
WATER = 24


@dataclass(frozen=True)
class Size:
    """Channels: of the first look; at 1/2 to 1/32 of the panel's size; within the blocks on the way down, and up; of rows."""
    first: int
    widths: tuple[int, int, int, int, int]
    down: tuple[int, int, int]
    up: tuple[int, int, int]
    rows: int


SIZES = {
    "small": Size(16, (16, 40, 64, 80, 24), (24, 40, 48), (40, 24, 16), 48),      # 0.38 of the teacher's multiplications
    "tiny": Size(16, (16, 32, 48, 64, 24), (16, 32, 32), (32, 16, 16), 32),       # 0.27
}


def conv(inside, outside, size=3, stride=1, relu=True):
    layers = [nn.Conv2d(inside, outside, size, stride, (size - 1) // 2, bias=False), nn.BatchNorm2d(outside)]
    return nn.Sequential(*layers, nn.ReLU()) if relu else nn.Sequential(*layers)


class Block(nn.Module):
    """x plus what two convolutions say of it."""

    def __init__(self, width, within):
        super().__init__()
        self.first = conv(width, within)
        self.second = conv(within, width, relu=False)

    def forward(self, x):
        return F.relu(x + self.second(self.first(x)))


def twice(x):
    return F.interpolate(x, scale_factor=2.0, mode="bilinear", align_corners=False)


class RootMap(nn.Module):
    def __init__(self, size):
        super().__init__()
        a, b, c, d, e = size.widths
        # Two pixels a step from here on: a phone's photo has hardly more, and a root is five times as wide.
        self.down1, self.enc1 = conv(PLANES, size.first, 4, 2), conv(size.first, a)
        self.down2, self.enc2 = conv(a, b, 3, 2), Block(b, size.down[0])
        self.down3, self.enc3 = conv(b, c, 3, 2), Block(c, size.down[1])
        self.down4 = conv(c, d, 3, 2)
        self.enc4 = nn.Sequential(Block(d, size.down[2]), Block(d, size.down[2]))
        self.enc5 = nn.Sequential(conv(d, e, 3, 2), Block(e, e))      # for a wide look only
        self.up4 = conv(e, d, 1)
        self.up3, self.dec3 = conv(d, c, 1), Block(c, size.up[0])
        self.up2, self.dec2 = conv(c, b, 1), Block(b, size.up[1])
        self.up1, self.dec1 = conv(b, a, 1), Block(a, size.up[2])
        # The pixels themselves come in once more where each of the four under a step gets weights of its own, so that edges
        # fall between steps too.
        self.pixels, self.edge = conv(PLANES, LAST, 4, 2, relu=False), conv(a, LAST, relu=False)
        self.up0 = nn.Sequential(nn.ConvTranspose2d(LAST, FEATURES, 2, 2, bias=False), nn.BatchNorm2d(FEATURES), nn.ReLU())
        self.out = nn.Conv2d(FEATURES, 3, 1)
        nn.init.constant_(self.out.bias, -3.0)
        # Water is level: what lies along a row, 5 and 20 mm to either side, is looked at as one.
        self.flat = conv(c, WATER, 1)
        self.rows = nn.ModuleList(conv(WATER, size.rows, relu=False) for _ in range(1 + len(ROWS)))
        self.beside = conv(b, size.rows, 1)
        self.level = conv(size.rows, WATER)
        self.water = nn.Conv2d(WATER, 2, 1)
        nn.init.constant_(self.water.bias, -3.0)

    def see(self, planes):
        """What the last layers see, each 0 or more: FEATURES channels at the panel's size for roots, and WATER at a quarter of
        it."""
        e1 = self.enc1(self.down1(planes))
        e2 = self.enc2(self.down2(e1))
        e3 = self.enc3(self.down3(e2))
        e4 = self.enc4(self.down4(e3))
        e4 = e4 + twice(self.up4(self.enc5(e4)))
        d3 = self.dec3(twice(self.up3(e4)) + e3)
        d2 = self.dec2(twice(self.up2(d3)) + e2)
        d1 = self.dec1(twice(self.up1(d2)) + e1)
        flat = self.flat(d3)
        along = self.rows[0](flat)
        for k, look in zip(ROWS, self.rows[1:]):
            along = along + look(F.avg_pool2d(flat, (1, k), 1, (0, k // 2)))
        level = self.level(twice(F.relu(along)) + self.beside(d2))
        return self.up0(F.relu(self.edge(d1) + self.pixels(planes))), level

    def logits(self, planes):
        """Of roots, at the panel's size, and of water, at a quarter of it."""
        features, level = self.see(planes)
        water = self.water(level)      # first, so that the file's last convolution is that of roots, as its readers expect
        return self.out(features), water
