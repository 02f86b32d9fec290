"""The network: a reduced photo and the target's code in, AREAS and LINES of paint.py out, at half the size.

Only layers that OpenCV 4.6's dnn module reads, as in src/roots/training/model.py.
"""
import torch
import torch.nn as nn
import torch.nn.functional as F

from paint import AREAS, LINES
from panels import of_panels

WIDTHS = (16, 28, 40, 52, 60)
OUT = len(AREAS) + len(LINES)


_panel = of_panels("model")
conv, Block, twice = _panel.conv, _panel.Block, _panel.twice


class TubMap(nn.Module):
    def __init__(self):
        super().__init__()
        a, b, c, d, e = WIDTHS
        self.down1, self.enc1 = conv(4, a, 5, 2), conv(a, a)
        self.down2, self.enc2 = conv(a, b, 3, 2), Block(b)
        self.down3, self.enc3 = conv(b, c, 3, 2), Block(c)
        self.down4, self.enc4 = conv(c, d, 3, 2), Block(d)
        self.down5, self.enc5 = conv(d, e, 3, 2), nn.Sequential(Block(e), Block(e))
        self.up4, self.dec4 = conv(e, d, 1), Block(d)
        self.up3, self.dec3 = conv(d, c, 1), Block(c)
        self.up2, self.dec2 = conv(c, b, 1), Block(b)
        self.up1, self.dec1 = conv(b, a, 1), Block(a)
        self.out = nn.Conv2d(a, OUT, 1)
        nn.init.constant_(self.out.bias, -2.0)

    def logits(self, x):
        e1 = self.enc1(self.down1(x))
        e2 = self.enc2(self.down2(e1))
        e3 = self.enc3(self.down3(e2))
        e4 = self.enc4(self.down4(e3))
        e5 = self.enc5(self.down5(e4))
        d4 = self.dec4(twice(self.up4(e5)) + e4)
        d3 = self.dec3(twice(self.up3(d4)) + e3)
        d2 = self.dec2(twice(self.up2(d3)) + e2)
        d1 = self.dec1(twice(self.up1(d2)) + e1)
        return self.out(d1)

    def forward(self, x):
        return torch.sigmoid(self.logits(x))
