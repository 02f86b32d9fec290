"""Lines of sight, cones and planes: what each pixel of an invented photo looks at. Same frames as include/slipglass/tub/pose.h.

Everything is a batch, (B,H,W); numbers of a picture are (B,1,1). Lengths are mm. The scene's frame: x right, y towards the
camera, z up, origin in the middle of the target tub's base.
"""
import math

import torch

from draw import DEVICE, chance, log_uniform, mix, per_picture, uniform

SIZE = 384          # side of the square canvas, px; a photo's long side fills it, the rest is 0
FAR = 1e5


class Cone:
    """Outside of a tub: radius base + slope * z, up to height; the rim stands out by bead."""

    def __init__(self, count, like=None):
        if like is None:
            kind = torch.rand(count, device=DEVICE)
            height = uniform(90, 190, count)
            base = torch.where(kind < 0.4, height * uniform(0.28, 0.36, count), height * uniform(0.2, 0.62, count)).clamp(24, 92)
            taper = torch.where(kind < 0.4, uniform(3, 6.5, count), torch.where(kind < 0.55, uniform(0, 1.2, count), uniform(0, 12, count)))
            wall = uniform(0.4, 1.6, count)
        else:                                # neighbours often come out of the same box
            same = chance(0.6, count) > 0
            height, base = (torch.where(same, v[:, 0, 0], v[:, 0, 0] * log_uniform(0.7, 1.4, count)) for v in (like.height, like.base))
            taper = torch.atan(like.slope[:, 0, 0]) / math.pi * 180
            wall = like.wall[:, 0, 0]
        self.height, self.base, self.slope, self.wall = (per_picture(v) for v in (height, base, torch.tan(taper * math.pi / 180), wall))
        self.bead = per_picture(uniform(0.6, 4.0, count))

    def radius(self, z):
        return self.base + self.slope * z


class Camera:
    """A phone before a tub that stands about where a person would have it in the picture."""

    def __init__(self, count, cone):
        shape = torch.rand(count, device=DEVICE)                     # upright 3:4 mostly, 9:16, square, lying
        aspect = torch.where(shape < 0.6, torch.full_like(shape, 0.75), torch.where(shape < 0.72, torch.full_like(shape, 0.5625),
                 torch.where(shape < 0.8, torch.ones_like(shape), torch.where(shape < 0.95, torch.full_like(shape, 4 / 3), torch.full_like(shape, 16 / 9)))))
        self.w = per_picture((SIZE * aspect.clamp(max=1)).round())
        self.h = per_picture((SIZE / aspect.clamp(min=1)).round())
        self.focal = per_picture(log_uniform(22, 56, count) / 36 * SIZE)
        self.roll = per_picture(torch.where(torch.rand(count, device=DEVICE) < 0.6, 1.5 * torch.randn(count, device=DEVICE), uniform(-11, 11, count)) * math.pi / 180)
        self.pitch = per_picture(torch.where(torch.rand(count, device=DEVICE) < 0.5, 7 + 4 * torch.randn(count, device=DEVICE),
                                             uniform(-6, 28, count)) * math.pi / 180)
        fills = uniform(0.4, 0.95, count) + chance(0.1, count) * uniform(0, 0.25, count)
        near = chance(0.2, count)                                    # the lower part alone, as the nearer look at a foot has it
        fills = fills * mix(torch.ones_like(fills), uniform(1.3, 2.6, count), near)
        fills = per_picture(fills) * torch.minimum(self.h, self.w * 1.35 * cone.height / (2 * cone.radius(cone.height)))
        tall = cone.height * torch.cos(self.pitch) + 2 * cone.base * torch.sin(self.pitch.abs())
        self.z = self.focal * tall / fills + cone.base
        loose = chance(0.25, count)
        off_x = per_picture(torch.randn(count, device=DEVICE) * mix(0.05, 0.14, loose)) * self.w
        off_y = per_picture(torch.randn(count, device=DEVICE) * mix(0.035, 0.08, loose)) * self.h
        low = per_picture(uniform(0.1, 0.4, count)) * self.h - cone.height / 2 * self.focal / self.z
        off_y = mix(off_y, low, per_picture(near))
        cr, sr, cp, sp = torch.cos(self.roll), torch.sin(self.roll), torch.cos(self.pitch), torch.sin(self.pitch)
        zero = torch.zeros_like(cr)
        self.right, self.towards, self.up = (cr, sr, zero), (-sr * sp, cr * sp, -cp), (sr * cp, -cr * cp, -sp)
        middle = (off_x / self.focal * self.z, off_y / self.focal * self.z, self.z)
        base = [m - cone.height / 2 * u for m, u in zip(middle, self.up)]
        self.eye = tuple(-sum(b * a for b, a in zip(base, axis)) for axis in (self.right, self.towards, self.up))
        ys = torch.arange(SIZE, device=DEVICE, dtype=torch.float32).view(1, -1, 1).expand(count, SIZE, SIZE)
        xs = torch.arange(SIZE, device=DEVICE, dtype=torch.float32).view(1, 1, -1).expand(count, SIZE, SIZE)
        self.x, self.y = xs, ys
        self.valid = ((xs < self.w) & (ys < self.h)).float()
        ray = ((xs - (self.w - 1) / 2) / self.focal, (ys - (self.h - 1) / 2) / self.focal, 1.0)
        self.d = tuple(sum(r * a for r, a in zip(ray, axis)) for axis in (self.right, self.towards, self.up))

    def project(self, x, y, z):
        """Scene point, (B,n) each -> pixel (B,n) each."""
        px, py, pz = (sum((p - e[:, 0]) * axis[i][:, 0] for p, e, axis in zip((x, y, z), self.eye, (self.right, self.towards, self.up))) for i in range(3))
        return px / pz * self.focal[:, 0] + (self.w[:, 0] - 1) / 2, py / pz * self.focal[:, 0] + (self.h[:, 0] - 1) / 2

    def at(self, t):
        return tuple(e + t * d for e, d in zip(self.eye, self.d))


class Standing:
    """A cone at a place on the table, as each pixel sees it: wall in front and behind, the level at a height within."""

    def __init__(self, camera, cone, x=0.0, y=0.0):
        self.camera, self.cone, self.x, self.y = camera, cone, x, y
        self.ex, self.ey, self.ez = camera.eye[0] - x, camera.eye[1] - y, camera.eye[2]
        self.facing = torch.atan2(self.ex, self.ey)
        self.distance = torch.hypot(self.ex, self.ey)
        self.hit, self.angle, self.z, self.back_z = self.cut(cone.base, cone.slope)
        self.grazing = torch.acos((cone.radius(self.ez) / self.distance).clamp(-1, 1))

    def cut(self, base, slope):
        """Whether the cone is met (run on below the table and over the rim), angle and height in front, height behind."""
        dx, dy, dz = self.camera.d
        r0 = base + slope * self.ez
        a = dx * dx + dy * dy - slope * slope * dz * dz
        b = self.ex * dx + self.ey * dy - slope * r0 * dz
        c = self.distance ** 2 - r0 * r0
        root = b * b - a * c
        hit = (root > 0) & (a > 0)
        s = torch.sqrt(root.clamp(min=0))
        near, far = (-b - s) / a.clamp(min=1e-9), (-b + s) / a.clamp(min=1e-9)
        hit = hit & (near > 0)
        px, py = self.ex + near * dx, self.ey + near * dy
        angle = torch.atan2(px, py) - self.facing
        angle = torch.remainder(angle + math.pi, 2 * math.pi) - math.pi
        return hit, angle, self.ez + near * dz, self.ez + far * dz

    def level(self, z):
        """Place on a level plane inside the cone: whether within, x, y."""
        t = (z - self.ez) / torch.where(self.camera.d[2].abs() < 1e-6, torch.full_like(self.camera.d[2], -1e-6), self.camera.d[2])
        x, y = self.ex + t * self.camera.d[0], self.ey + t * self.camera.d[1]
        return (t > 0) & (x * x + y * y < (self.cone.radius(z) - self.cone.wall).clamp(min=1) ** 2), x, y

    def px_per_mm(self):
        """Of the wall in front, roughly."""
        return self.camera.focal / (self.distance - self.cone.base).clamp(min=20)

    def slant(self):
        """Cosine between wall and line of sight."""
        dx, dy, dz = self.camera.d
        angle = self.angle + self.facing
        length = torch.sqrt(dx * dx + dy * dy + dz * dz)
        s = self.cone.slope
        return (-(dx * torch.sin(angle) + dy * torch.cos(angle) - s * dz) / length / torch.sqrt(1 + s * s)).clamp(0, 1)

    def over_heel(self):
        """How far over the corner of a sharp heel the lowest place of a rounded one is seen, per mm of its radius; as
        src/tub/fit_pose.cpp has it."""
        dx, dy, dz = self.camera.d
        angle = self.angle + self.facing
        falls = torch.atan2(-dz, -(dx * torch.sin(angle) + dy * torch.cos(angle))).clamp(0, 1.4)
        return (torch.sin(falls) + torch.cos(falls) - 1) / (torch.cos(falls) - self.cone.slope * torch.sin(falls)).clamp(min=0.1)

    def line_at(self, values, where, sigma):
        """Soft line, 0..1, where a field that grows along the wall passes 0; where: pixels it is told of."""
        gy, gx = torch.gradient(values, dim=(1, 2))
        steep = torch.sqrt(gx * gx + gy * gy).clamp(1e-4, 1e4)
        return torch.exp(-0.5 * (values / steep / sigma) ** 2) * where.float()

    def side_line(self, sign, top, sigma):
        """Soft line along one side from the table up to height top."""
        g = sign * self.grazing[:, :, 0] + self.facing[:, :, 0]
        points = []
        for z in (torch.zeros_like(top), top):
            r = self.cone.radius(z)[:, :, 0]
            points.append(self.camera.project(self.x_of(r * torch.sin(g)), self.y_of(r * torch.cos(g)), z[:, :, 0].expand_as(g)))
        (x0, y0), (x1, y1) = [(p[0].unsqueeze(-1), p[1].unsqueeze(-1)) for p in points]
        dx, dy = x1 - x0, y1 - y0
        length = torch.hypot(dx, dy).clamp(min=1)
        off = ((self.camera.x - x0) * dy - (self.camera.y - y0) * dx) / length
        along = ((self.camera.x - x0) * dx + (self.camera.y - y0) * dy) / length
        beyond = torch.maximum(-along, along - length).clamp(min=0)
        return torch.exp(-0.5 * (off * off + beyond * beyond) / sigma ** 2)

    def x_of(self, x):
        return x + (self.x[:, :, 0] if torch.is_tensor(self.x) else self.x)

    def y_of(self, y):
        return y + (self.y[:, :, 0] if torch.is_tensor(self.y) else self.y)
