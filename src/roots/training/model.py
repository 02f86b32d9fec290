"""The network: six channels of panel pair in; out come three probabilities at the same size: root, browned root, and line
that is no root; and two at a quarter of it: below standing water, and on the line where its surface meets the wall. The line
that is no root is only learnt, so that the features tell such lines apart; export.py leaves it out.

Only layers that the program's engine (src/network/graph.h) and OpenCV's dnn module read, but for LocalLight: convolution,
upsampling by a transposed convolution, average pooling along rows, bilinear resize by two, ReLU, sigmoid, sums and joined
channels.
"""
import torch
import torch.nn as nn
import torch.nn.functional as F

WIDTHS = (32, 56, 80, 112, 24)      # at 1/2 to 1/32 of the panel's size; the last for a wide look only
WATER = 24
ROWS = (9, 33)      # at an eighth of the panel's size
FEATURES = 12
LUMA_BGR = (0.114, 0.587, 0.299)


def conv(inside, outside, size=3, stride=1):
    return nn.Sequential(nn.Conv2d(inside, outside, size, stride, (size - 1) // 2, bias=False), nn.BatchNorm2d(outside), nn.ReLU())


class Block(nn.Module):
    def __init__(self, width):
        super().__init__()
        self.first = conv(width, width)
        self.second = nn.Sequential(nn.Conv2d(width, width, 3, padding=1, bias=False), nn.BatchNorm2d(width))

    def forward(self, x):
        return F.relu(x + self.second(self.first(x)))


def twice(x):
    return F.interpolate(x, scale_factor=2.0, mode="bilinear", align_corners=False)


class LocalLight(nn.Module):
    """What src/roots/shown_planes.cpp does for the program: x -> (x - local mean) / local luma, over about 14 mm, leaving out what is not visible (zero); and, as a seventh plane,
    how much of the reference panel can be seen there: without it a line has to be judged by its look alone."""

    def __init__(self):
        super().__init__()
        luma = torch.zeros(6, 6, 1, 1)
        for first in (0, 3):
            for channel in range(3):
                luma[first + channel, first:first + 3, 0, 0] = torch.tensor(LUMA_BGR)
        self.register_buffer("luma", luma)
        self.register_buffer("first", torch.tensor([0.0, 0, 0, 1, 1, 1]).view(1, 6, 1, 1) / 3)

    def forward(self, x):
        visible = (x > 0).to(x.dtype)
        def around(v):
            return F.avg_pool2d(F.avg_pool2d(v, 32), 3, 1, 1)
        seen = around(visible)
        mean = around(x) / (seen + 0.001)
        mean, has_first = (F.interpolate(v, scale_factor=32.0, mode="bilinear", align_corners=False)
                           for v in (mean, F.conv2d(seen, self.first)))
        return torch.cat(((x - mean * visible) / (F.conv2d(mean, self.luma) + 0.04) * 0.5, has_first), 1)


def shown_planes(pair):
    """The thirteen planes that the program gives the map that ships: LocalLight's colours there as halves, so that all lie in -1..1."""
    light = LocalLight().to(pair.device)(pair)
    return torch.cat((pair, 0.5 * light[:, :6], light[:, 6:]), 1)


class RootMap(nn.Module):
    def __init__(self):
        super().__init__()
        a, b, c, d, e = WIDTHS
        self.light = LocalLight()
        self.fine = conv(6, 8)
        # Two pixels a step from here on: a phone's photo has hardly more, and a root is five times as wide.
        self.down1 = conv(13, a, 4, 2)
        self.enc1 = conv(a, a)
        self.down2 = conv(a, b, 3, 2)
        self.enc2 = Block(b)
        self.down3 = conv(b, c, 3, 2)
        self.enc3 = Block(c)
        self.down4 = conv(c, d, 3, 2)
        self.enc4 = nn.Sequential(Block(d), Block(d))
        self.enc5 = nn.Sequential(conv(d, e, 3, 2), Block(e))
        self.up4 = conv(e, d, 1)
        self.up3, self.dec3 = conv(d, c, 1), Block(c)
        self.up2, self.dec2 = conv(c, b, 1), Block(b)
        self.up1, self.dec1 = conv(b, a, 1), Block(a)
        # Each of the four pixels under one step gets weights of its own, so that edges fall between steps too.
        self.up0 = nn.Sequential(nn.ConvTranspose2d(a, 16, 2, 2, bias=False), nn.BatchNorm2d(16), nn.ReLU())
        self.edge = conv(24, FEATURES)
        self.out = nn.Conv2d(FEATURES, 3, 1)
        nn.init.constant_(self.out.bias, -3.0)
        # Water is level: what lies along a row, 5 and 20 mm to either side, is looked at as one.
        self.flat = conv(c, WATER, 1)
        self.rows = conv(3 * WATER, 2 * WATER)
        self.beside = conv(b, 2 * WATER, 1)
        self.level = conv(2 * WATER, WATER)
        self.water = nn.Conv2d(WATER, 2, 1)
        nn.init.constant_(self.water.bias, -3.0)

    def see(self, x):
        """What the last layers see, each 0 or more: FEATURES channels at the panel's size for roots, WATER at a quarter of it."""
        return self.look(self.fine(x), torch.cat((x, self.light(x)), 1))

    def look(self, fine, x):
        """The same from the thirteen planes, the pair and its evened light, and what `fine` sees of the pair."""
        e1 = self.enc1(self.down1(x))
        e2 = self.enc2(self.down2(e1))
        e3 = self.enc3(self.down3(e2))
        e4 = self.enc4(self.down4(e3))
        e4 = e4 + twice(self.up4(self.enc5(e4)))
        d3 = self.dec3(twice(self.up3(e4)) + e3)
        d2 = self.dec2(twice(self.up2(d3)) + e2)
        d1 = self.dec1(twice(self.up1(d2)) + e1)
        flat = self.flat(d3)
        rows = [F.avg_pool2d(flat, (1, k), 1, (0, k // 2)) for k in ROWS]
        level = self.level(twice(self.rows(torch.cat([flat] + rows, 1))) + self.beside(d2))
        return self.edge(torch.cat((self.up0(d1), fine), 1)), level

    def logits(self, x):
        """Of roots, at the panel's size, and of water, at a quarter of it."""
        features, level = self.see(x)
        water = self.water(level)      # first, so that the file's last convolution is that of roots, as its readers expect
        return self.out(features), water

    def forward(self, x):
        return tuple(torch.sigmoid(v) for v in self.logits(x))


def load(net, held):
    """Takes weights (names to tensors) of this network or of one with fewer parts or inputs: what is new stays as it begins,
    and adds nothing where that would change what the old parts say."""
    own = net.state_dict()
    for name, value in own.items():
        if name not in held:
            continue
        old = held[name]
        if value.dim() == 4 and old.shape[0] == value.shape[0] and old.shape[1] < value.shape[1]:
            old = torch.cat((old, torch.zeros_like(value[:, old.shape[1]:])), 1)
        own[name] = old
    if "up4.0.weight" not in held:
        own["up4.1.weight"] = torch.zeros_like(own["up4.1.weight"])
    net.load_state_dict(own)
    return net
