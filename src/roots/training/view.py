"""Where a panel lies on a round tub, and how it is seen.

A panel is the wall unrolled. The camera sees the wall at a slant towards the sides: a root there keeps its width in the
picture but the wall beside it does not, so on the panel it is stretched round the tub by 1/cos(angle), and so is every
blur of the photo. Packed grains hide each other and draw together nearly as the wall does. The pictures are therefore
drawn as SEEN and unrolled last.
"""
import torch
import torch.nn.functional as F

from draw import DEVICE, MM, log_uniform, mix, per_picture, uniform

MARGIN = 32        # rows drawn above and below, used up by the bow of level lines


class View:
    def __init__(self, count, size):
        self.size, self.h, self.w = size, size + 2 * MARGIN, size
        self.radius = per_picture(log_uniform(32, 105, count) * MM)
        self.far = self.radius * per_picture(log_uniform(3.2, 9, count))       # the camera, from the tub's axis
        self.limit = torch.acos(self.radius / self.far) - 0.05                 # beyond, the wall turns away
        half = size / 2 / self.radius
        side = uniform(-1, 1, count)
        self.turn = per_picture(side.sign() * side.abs() ** 0.7) * (self.limit - half + 0.06).clamp(min=0)
        self.pitch = per_picture(uniform(-0.04, 0.2, count))
        self.level = self.radius * torch.cos(self.turn) * self.pitch
        self.middle = (self._across((self.turn - half).maximum(-self.limit)) +
                       self._across((self.turn + half).minimum(self.limit))) / 2
        rows = torch.arange(self.h, device=DEVICE, dtype=torch.float32).view(1, -1, 1)
        cols = torch.arange(self.w, device=DEVICE, dtype=torch.float32).view(1, 1, -1)
        self.x, self.y = cols.expand(count, self.h, -1), rows.expand(count, -1, self.w)
        x = cols - size / 2 + self.middle
        near = self.radius * (self.far - self.radius)
        sine = x * self.far / torch.sqrt(near ** 2 + (x * self.radius) ** 2)
        self.angle = (torch.asin(sine.clamp(-0.999, 0.999)) - torch.atan2(x * self.radius, near)).expand(count, self.h, -1)
        # the panel place of each seen pixel
        self.round = self.radius * (self.angle - self.turn) + size / 2
        self.down = rows - MARGIN - (self.radius * torch.cos(self.angle) * self.pitch - self.level)
        # where grains are laid out: they keep their size as seen (x) or, packed, shrink as the wall does (round)
        self.grain_x = mix(self.x, self.round, per_picture(uniform(0.4, 1, count)))
        # the tub's inner base, what is seen of its plastic below that, and the medium's surface, panel rows down; many
        # panels reach none of them
        away = torch.full((count,), 1e4, device=DEVICE)
        draw = torch.rand(count, device=DEVICE)
        self.base = per_picture(torch.where(draw < 0.42, uniform(0.5, 0.97, count) * size, away))
        self.sole = per_picture(log_uniform(1, 26, count))
        self.top = per_picture(torch.where((draw > 0.38) & (draw < 0.6), uniform(0.02, 0.45, count) * size, -away))
        # ridges of the plastic, near the base or anywhere: level lines that stay
        self.ridges = [per_picture(torch.where(torch.rand(count, device=DEVICE) < p, where, away))
                       for p, where in ((0.6, (self.base + uniform(-0.5, 1, count).view(-1, 1, 1) * self.sole)[:, 0, 0]),
                                        (0.35, self.base[:, 0, 0] - log_uniform(2, 35, count)), (0.14, uniform(0, 1, count) * size))]
        # signed, radians: how far the wall turns away from the line of sight, to the right where positive
        self.slant = (self.angle + torch.asin((self.radius * torch.sin(self.angle) / self.far).clamp(-1, 1))).clamp(-1.5708, 1.5708)
        self.mirror = (1 - torch.cos(self.slant)) ** 5      # Schlick's share of mirrored light

    def _across(self, angle):
        return self.radius * torch.sin(angle) * (self.far - self.radius) / (self.far - self.radius * torch.cos(angle))

    def seen(self, round_px, down_px):
        """Panel place -> seen place; arguments (B,...) of any further shape."""
        grow = (slice(None),) + (None,) * (round_px.dim() - 1)
        radius, far, turn, middle, pitch, level = (v[:, 0, 0][grow] for v in (self.radius, self.far, self.turn, self.middle,
                                                                              self.pitch, self.level))
        angle = turn + (round_px - self.size / 2) / radius
        x = radius * torch.sin(angle) * (far - radius) / (far - radius * torch.cos(angle))
        return x - middle + self.size / 2, down_px + MARGIN + radius * torch.cos(angle) * pitch - level

    def seen_grain(self, grain_x):
        """Where grains laid out at grain_x (B,n) are seen, (B,n) columns; those out of sight at the nearest edge."""
        laid = self.grain_x[:, 0].contiguous()
        right = torch.searchsorted(laid, grain_x.contiguous()).clamp(1, self.w - 1)
        a, b = laid.gather(1, right - 1), laid.gather(1, right)
        return right - 1 + ((grain_x - a) / (b - a).clamp(min=1e-3)).clamp(0, 1)

    def facing(self):
        """Panel columns that face the camera, (B,1,1,size)."""
        around = torch.arange(self.size, device=DEVICE, dtype=torch.float32).view(1, 1, -1)
        return ((self.turn + (around - self.size / 2) / self.radius).abs() < self.limit).float().unsqueeze(1)

    def share_of_photo(self):
        """Width in the photo of each panel column, against one facing the camera, (B,1,1,size): 1 in front. At least 0.1: the
        outermost columns have little share of the photo, but counted at it they were left to chance and filled with root."""
        edges = torch.arange(self.size + 1, device=DEVICE, dtype=torch.float32).view(1, 1, -1) - 0.5
        x, _ = self.seen(edges.expand(self.radius.shape[0], 1, -1), torch.zeros_like(edges))
        return torch.diff(x, dim=-1).clamp(0.1, 1).unsqueeze(1)

    def unroll(self, pictures, shift_x=None, shift_y=None, mode="bilinear"):
        """Seen (B,C,h,w) -> panel (B,C,size,size), each place moved by an optional misalignment (B,size,size)."""
        b, n = pictures.shape[0], self.size
        down = torch.arange(n, device=DEVICE, dtype=torch.float32).view(1, n, 1).expand(b, n, n)
        around = torch.arange(n, device=DEVICE, dtype=torch.float32).view(1, 1, n).expand(b, n, n)
        if shift_x is not None:
            around, down = around + shift_x, down + shift_y
        x, y = self.seen(around, down)
        h, w = pictures.shape[-2:]
        grid = torch.stack(((x + 0.5) / self.w * 2 - 1, (y + 0.5) / self.h * 2 - 1), -1)
        return F.grid_sample(pictures, grid, mode=mode, padding_mode="border", align_corners=False)

    def of(self, take):
        """The same view for chosen samples, as a light copy."""
        other = object.__new__(View)
        other.__dict__.update({k: (v[take] if torch.is_tensor(v) else v) for k, v in self.__dict__.items()})
        return other
