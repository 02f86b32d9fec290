"""The network: six channels of panel pair in, three probabilities out, at the same size: root, browned root, and line that
is no root. The third is only learnt, so that the features tell such lines apart; export.py leaves it out.

Only layers that OpenCV 4.6's dnn module reads: convolution, average pooling, bilinear resize by a whole factor, ReLU,
sigmoid, tanh, and sums, differences, products and quotients of tensors of one shape.
"""
import torch
import torch.nn as nn
import torch.nn.functional as F

WIDTHS = (32, 56, 80, 112)
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
    """x -> (x - local mean) / local luma, over about 14 mm, leaving out what is not visible (zero)."""

    def __init__(self):
        super().__init__()
        luma = torch.zeros(6, 6, 1, 1)
        for first in (0, 3):
            for channel in range(3):
                luma[first + channel, first:first + 3, 0, 0] = torch.tensor(LUMA_BGR)
        self.register_buffer("luma", luma)

    def forward(self, x):
        visible = torch.tanh(x * 1000.0)
        def around(v):
            return F.avg_pool2d(F.avg_pool2d(v, 32), 3, 1, 1)
        mean = around(x) / (around(visible) + 0.001)
        mean = F.interpolate(mean, scale_factor=32.0, mode="bilinear", align_corners=False)
        return (x - mean * visible) / (F.conv2d(mean, self.luma) + 0.04) * 0.5


class RootMap(nn.Module):
    def __init__(self):
        super().__init__()
        a, b, c, d = WIDTHS
        self.light = LocalLight()
        self.fine = conv(6, 8)
        # Two pixels a step from here on: a phone's photo has hardly more, and a root is five times as wide.
        self.down1 = conv(12, a, 4, 2)
        self.enc1 = conv(a, a)
        self.down2 = conv(a, b, 3, 2)
        self.enc2 = Block(b)
        self.down3 = conv(b, c, 3, 2)
        self.enc3 = Block(c)
        self.down4 = conv(c, d, 3, 2)
        self.enc4 = nn.Sequential(Block(d), Block(d))
        self.up3, self.dec3 = conv(d, c, 1), Block(c)
        self.up2, self.dec2 = conv(c, b, 1), Block(b)
        self.up1, self.dec1 = conv(b, a, 1), Block(a)
        # Each of the four pixels under one step gets weights of its own, so that edges fall between steps too.
        self.up0 = nn.Sequential(nn.ConvTranspose2d(a, 16, 2, 2, bias=False), nn.BatchNorm2d(16), nn.ReLU())
        self.edge = conv(24, FEATURES)
        self.out = nn.Conv2d(FEATURES, 3, 1)
        nn.init.constant_(self.out.bias, -3.0)

    def features(self, x):
        """What the last layer sees: FEATURES channels at the panel's size, each 0 or more."""
        fine = self.fine(x)
        x = torch.cat((x, self.light(x)), 1)
        e1 = self.enc1(self.down1(x))
        e2 = self.enc2(self.down2(e1))
        e3 = self.enc3(self.down3(e2))
        e4 = self.enc4(self.down4(e3))
        d3 = self.dec3(twice(self.up3(e4)) + e3)
        d2 = self.dec2(twice(self.up2(d3)) + e2)
        d1 = self.dec1(twice(self.up1(d2)) + e1)
        return self.edge(torch.cat((self.up0(d1), fine), 1))

    def logits(self, x):
        return self.out(self.features(x))

    def forward(self, x):
        return torch.sigmoid(self.logits(x))
