"""What the network is shown of a pair of panels. The program does the same in C++ (src/roots/evened_light.cpp)."""
import torch
import torch.nn as nn
import torch.nn.functional as F

PLANES = 13
LUMA_BGR = (0.114, 0.587, 0.299)


class LocalLight(nn.Module):
    """(B,6,H,W) -> (B,7,H,W): x -> (x - local mean) / local luma, over about 14 mm, leaving out what is not visible (zero);
    and, as a seventh plane, how much of the reference panel can be seen there: without it a line has to be judged by its look
    alone."""

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


class Shown(nn.Module):
    """(B,6,H,W) pairs -> (B,13,H,W): the pair as it is, and with its light evened out."""

    def __init__(self):
        super().__init__()
        self.light = LocalLight()

    def forward(self, pair):
        return torch.cat((pair, self.light(pair)), 1)
