"""Light, water, dirt on the plastic, and a phone's camera: an unlit scene becomes a photo of it, unrolled to a panel."""
import math

import torch
import torch.nn.functional as F

from draw import DEVICE, MM, blur, chance, filter_each, log_uniform, mix, noise, per_picture, smoothstep, uniform
from media import Grains
import root_shapes


LINE_PX = 3.0      # how wide the band about a water line is that counts as on it


def to_linear(srgb):
    return srgb.clamp(0, 1) ** 2.2


def to_srgb(linear):
    return linear.clamp(1e-5, 1) ** (1 / 2.2)


def one(values):
    return values.view(-1, 1, 1, 1)


class Occasion:
    """What is shared by nothing: one day's water, wetness and light, drawn afresh for each photo."""

    def __init__(self, view):
        count, size = view.base.shape[0], view.size
        base, top = view.base[:, 0, 0], view.top[:, 0, 0]
        def among(*kinds):
            """One of (weight, values) a picture."""
            pick = torch.multinomial(torch.tensor([k[0] for k in kinds], device=DEVICE), count, replacement=True)
            return torch.stack([k[1] for k in kinds]).gather(0, pick.view(1, -1))[0]
        dry = torch.full((count,), 1e4, device=DEVICE)
        self.wet = uniform(0, 1, count)
        anywhere = torch.maximum(uniform(0.02, 1, count) * size, top)
        on_base = among((0.42, dry), (0.24, base - log_uniform(0.7, 3.5, count) * MM), (0.24, base - log_uniform(2.5, 30, count) * MM),
                        (0.10, torch.minimum(anywhere, base)))
        under_top = among((0.60, dry), (0.15, top + log_uniform(0.2, 8, count) * MM), (0.25, anywhere))
        elsewhere = among((0.70, dry), (0.27, anywhere), (0.03, torch.full_like(dry, -200.0)))
        level = torch.where(base < 5e3, on_base, torch.where(top > -5e3, under_top, elsewhere))
        # one photo in eight of a damp wall: a front of damp that no water stands behind
        self.front = torch.where(chance(0.15, count) > 0, uniform(0, 1, count) * size, dry)
        self.level = torch.where(level < 5e3, torch.maximum(level, top + 1), level)


def _light(z, colour, count):
    """Shade heights: slanted light, sky from all round, deep gaps dark, edges of the tub darker or lighter."""
    gx = F.pad(z[:, :, 2:] - z[:, :, :-2], (1, 1)) / 2
    gy = F.pad(z[:, 2:] - z[:, :-2], (0, 0, 1, 1)) / 2
    steep = per_picture(log_uniform(0.25, 0.9, count))
    gx, gy = gx.clamp(-3, 3) * steep, gy.clamp(-3, 3) * steep
    turn = uniform(-math.pi, 0, count) + chance(0.15, count) * uniform(0, math.pi, count)
    high = uniform(0.35, 0.9, count)
    flat = torch.sqrt(1 - high ** 2)
    lx, ly, lz = per_picture(torch.cos(turn) * flat), per_picture(torch.sin(turn) * flat), per_picture(high)
    facing = ((-gx * lx - gy * ly + lz) / torch.sqrt(1 + gx * gx + gy * gy)).clamp(min=0)
    deep = z.unsqueeze(1).clamp(min=-30)
    shut = (blur(deep, 2.5) - deep).clamp(min=0) * 0.10 + (blur(deep, 7.0) - deep).clamp(min=0) * 0.07
    open_sky = torch.exp(-shut[:, 0] * per_picture(uniform(0.5, 1.8, count))) * torch.exp(z.clamp(-40, 0) / per_picture(log_uniform(18, 90, count)))
    step = 3.0
    shadow = torch.zeros_like(z)
    for k in (1, 2, 3):  # height field shadow along the commonest light, from above
        up = F.pad(z, (0, 0, 3 * k, 0), mode="replicate")[:, :-3 * k]
        shadow = torch.maximum(shadow, ((up - z) - step * k * 0.9).clamp(0, 4) / 4)
    shadow = 1 - shadow * per_picture(uniform(0, 0.7, count))
    soft = per_picture(uniform(0.25, 0.85, count))
    light = open_sky * (soft + (1 - soft) * 1.5 * facing * shadow)
    return colour * light.unsqueeze(1)


def _wet(view, z, colour, drink, occasion, count):
    """Damp darkens and saturates; below a level water fills the pores. Damp ends raggedly, water does not."""
    b, _, h, w = colour.shape
    patch = noise((count, h, w), log_uniform(40, 200, count), 2)
    level = per_picture(occasion.level)
    # the camera's pose is known to a degree or two at best, and now and then badly
    tilt = per_picture(torch.where(chance(0.12, count) > 0, 0.06, 0.012) * torch.randn(count, device=DEVICE))
    bow = per_picture(torch.where(chance(0.12, count) > 0, 5.0, 0.8) * torch.randn(count, device=DEVICE))
    round_ = view.round - w / 2
    ripple = noise((count, h, w), log_uniform(60, 250, count)) * per_picture(chance(0.3, count) * log_uniform(0.1, 0.9, count))
    below = view.down - level + tilt * round_ + bow * (round_ / (w / 2)) ** 2 + ripple           # px under the water's skin
    fringe = per_picture(log_uniform(15, 110, count))
    wet = per_picture(occasion.wet)
    damp = wet + 0.25 * patch + 0.9 * torch.exp(-(-below).clamp(min=0) / fringe) * (below < 1e3) * per_picture(chance(0.85, count))
    ragged = noise((count, h, w), log_uniform(12, 90, count), 3) * per_picture(log_uniform(3, 30, count))
    soft = per_picture(log_uniform(1.5, 45, count))
    turned = per_picture(chance(0.5, count) * 2 - 1)
    beyond = torch.sigmoid(turned * (view.down - per_picture(occasion.front) + ragged) / soft)
    damp = damp + (per_picture(uniform(-0.6, 0.9, count)) * beyond) * per_picture((occasion.front < 5e3).float())
    damp = damp.clamp(0, 1)
    under = smoothstep(-0.8, 0.8, below)
    damp = torch.maximum(damp, under * per_picture(torch.where(chance(0.85, count) > 0, 1.0, 0.5)))
    depth = per_picture(uniform(0.25, 0.85, count)) * damp * drink
    deeper = to_linear(colour) ** (1 + 0.45 * depth.unsqueeze(1)) * (1 - 0.35 * depth.unsqueeze(1))
    return deeper, below, under


def _water(light, z, below, under, count):
    under = under.unsqueeze(1)
    tint = torch.stack((uniform(0.35, 0.75, count), uniform(0.28, 0.6, count), uniform(0.12, 0.45, count)), 1).view(count, 3, 1, 1)
    film = one(torch.where(chance(0.25, count) > 0, uniform(0, 0.04, count), uniform(0.02, 0.32, count)))
    murky = one(chance(0.1, count) * uniform(0.2, 0.7, count))
    pores = smoothstep(-1, -10, z).unsqueeze(1)
    murk = one(light.mean((1, 2, 3))) * tint * one(uniform(0.3, 1.2, count))
    wetted = mix(light * (1 - film * (1 - tint)) * one(uniform(0.65, 1.0, count)), murk, (film * (0.4 + 1.3 * pores) + murky).clamp(0, 0.85))
    light = mix(light, wetted, under)
    thick = per_picture(log_uniform(0.6, 2.8, count))
    # the skin creeps up the wall unevenly, and shines where the lamp is mirrored in it
    patchy = (0.75 + per_picture(uniform(0.2, 1.2, count)) * noise(below.shape, log_uniform(8, 90, count))).clamp(0, 1.5)
    off = below + per_picture(uniform(-1, 1, count))
    line = torch.exp(-(off / thick) ** 2) * patchy * per_picture(chance(0.92, count) * log_uniform(0.08, 1.0, count))
    dark = torch.exp(-((off - 2 * thick) / (1.2 * thick)) ** 2) * per_picture(chance(0.4, count) * uniform(0, 0.5, count))
    light = light * (1 - dark.unsqueeze(1))
    return mix(light, torch.ones_like(light) * one(log_uniform(0.15, 1.1, count)), line.unsqueeze(1).clamp(0, 1))


def _part(view, count):
    """Which columns a level thing spans, (B,h,w) 0..1: all of them in half the pictures."""
    dx = (view.x - per_picture(uniform(0, 1, count) * view.w)).abs() - per_picture(log_uniform(15, 250, count))
    return torch.maximum(torch.sigmoid(-dx / per_picture(log_uniform(1, 30, count))), per_picture(chance(0.5, count)))


def _off_a_level(view, slope):
    """Panel px below a line drawn anywhere, level but for slope (B,), a ratio; (B,h,w)."""
    return view.down - per_picture(uniform(0, 1, len(slope)) * view.size) + per_picture(slope) * (view.round - view.w / 2)


def _level_things(view, light, count):
    """Level or nearly level edges and lines that no water makes: ridges of the plastic, edges of shadows, edges and lamps
    mirrored in the wall."""
    mean = one(light.mean((1, 2, 3)))
    for ridge in view.ridges:
        off = (view.down - ridge) / per_picture(log_uniform(0.7, 4, count))
        pair = torch.exp(-off ** 2) - per_picture(uniform(-0.6, 1, count)) * torch.exp(-(off - 1.7) ** 2)
        strong = pair * per_picture(log_uniform(0.06, 3, count)) * _part(view, count)
        light = (light + strong.unsqueeze(1) * mix(mean, light, one(uniform(0, 1, count)))).clamp(min=0.003)
    for _ in range(2):
        off = _off_a_level(view, torch.where(chance(0.4, count) > 0, 0.015, 0.15) * torch.randn(count, device=DEVICE))
        edge = torch.sigmoid(off / per_picture(log_uniform(0.4, 14, count)) * per_picture(chance(0.5, count) * 2 - 1))
        shadow = edge * per_picture(chance(0.09, count) * uniform(0.1, 0.65, count)) * _part(view, count)
        light = light * (1 - shadow.unsqueeze(1))
        mirrored = (edge * _part(view, count)).unsqueeze(1) * one(chance(0.09, count) * log_uniform(0.02, 0.4, count))
        light = light + mirrored * (0.3 + mean) * (1 + 0.25 * torch.randn(count, 3, 1, 1, device=DEVICE)).clamp(0.2)
        strip = torch.exp(-(off / per_picture(log_uniform(0.6, 12, count))).abs() ** per_picture(uniform(1, 4, count))) * _part(view, count)
        light = light + (strip * per_picture(chance(0.09, count) * log_uniform(0.04, 1.5, count))).unsqueeze(1) * (0.3 + mean)
    return _like_water(view, light, count)


def _like_water(view, light, count):
    """What is most easily taken for water, in a picture of six each: the level edge of a shadow, sharp and right across, which takes
    as much of every colour; and a level line as wide as a root, with nothing other below it than above."""
    mean = one(light.mean((1, 2, 3)))
    def off():
        return _off_a_level(view, 0.008 * torch.randn(count, device=DEVICE))
    upper = per_picture(chance(0.25, count) * 2 - 1)
    edge = torch.sigmoid(-upper * off() / per_picture(log_uniform(0.3, 3, count)))
    light = light * (1 - edge * per_picture(chance(0.16, count) * uniform(0.2, 0.7, count))).unsqueeze(1)
    line = torch.exp(-(off() / per_picture(log_uniform(0.8, 4, count))).abs() ** per_picture(uniform(1.5, 6, count))) * _part(view, count)
    return mix(light, mean * one(log_uniform(1, 8, count)), (line * per_picture(chance(0.16, count) * uniform(0.3, 1, count))).unsqueeze(1))


def _ends(view, light, count):
    """Some panels reach past the medium: its top with air and far things behind, or the heel, the base and the table."""
    h, w = light.shape[-2:]
    def things():
        colour = one(uniform(0.05, 0.8, count)) * (1 + 0.25 * (torch.rand(count, 3, 1, 1, device=DEVICE) - 0.5))
        behind = colour * (1 + 0.3 * noise((count, h, w), log_uniform(20, 300, count), 2).unsqueeze(1) * one(uniform(0, 1, count)))
        streak = smoothstep(0.8, 1.6, noise((count, h, w), log_uniform(20, 80, count)))
        return (behind + 0.6 * streak.unsqueeze(1) * one(chance(0.5, count) * uniform(0, 1, count))).clamp(0.01, 1.2)
    lump = noise((count, h, w), log_uniform(6, 30, count), 2) * per_picture(uniform(1, 7, count))
    above = smoothstep(1.0, -1.0, view.down - view.top + lump)
    light = mix(light, things(), above.unsqueeze(1))
    past = view.down - view.base - view.sole + per_picture(0.5 * torch.randn(count, device=DEVICE))
    # the plastic of base and heel: few grains behind it, but what it bends there, mostly dark
    bent = blur(light, 2.5) * one(log_uniform(0.15, 1.5, count)) + one(log_uniform(0.001, 0.2, count))
    light = mix(light, bent, (smoothstep(-0.8, 0.8, past + view.sole) * per_picture(uniform(0.3, 1, count))).unsqueeze(1))
    near = torch.exp(-(-past).clamp(0, 400) / per_picture(log_uniform(4, 50, count))) * (view.base < 5e3)
    light = light * (1 + near * per_picture(uniform(-0.75, 0.5, count))).unsqueeze(1)      # shade or light of the table
    for _ in range(3):
        glint = torch.exp(-((past + per_picture(uniform(-0.1, 1.1, count)) * view.sole) / per_picture(log_uniform(0.6, 3.5, count))) ** 2)
        glint = glint * per_picture(chance(0.6, count) * log_uniform(0.05, 1, count)) * _part(view, count)
        light = mix(light, torch.ones_like(light) * one(log_uniform(0.1, 1.2, count)), glint.unsqueeze(1).clamp(0, 1))
    under = smoothstep(-0.5, 0.8, past)
    # the tub stands in its own shadow, or is mirrored in the table
    flip = torch.stack(((view.x + 0.5) / w * 2 - 1, (view.y - 2 * past.clamp(min=0) + 0.5) / h * 2 - 1), -1)
    mirrored = blur(F.grid_sample(light, flip, padding_mode="border", align_corners=False), 1.5)
    table = mix(things(), mirrored, one(chance(0.35, count) * uniform(0.1, 0.8, count)))
    shade = torch.exp(-past.clamp(0, 400) / per_picture(log_uniform(2, 40, count))) * per_picture(chance(0.8, count) * uniform(0.2, 0.97, count))
    light = mix(light, table * (1 - shade).unsqueeze(1), under.unsqueeze(1))
    return light, torch.maximum(above, under).unsqueeze(1)


def label_place(count, size):
    """A paper tag in a fifth of the pairs: middle, half sizes, whether there."""
    return {"x": uniform(0, 1, count) * size, "y": uniform(0, 1, count) * size, "w": uniform(60, 120, count),
            "h": uniform(70, 150, count), "on": chance(0.2, count), "module": uniform(3, 8, count)}


def _label(view, light, place, count):
    jx, jy = uniform(-10, 10, count), uniform(-10, 10, count)
    moved = torch.where(torch.rand(count, device=DEVICE) < 0.12, 1.0, 0.0)
    on = place["on"] * (1 - chance(0.08, count))
    jx, jy = jx + moved * uniform(-150, 150, count), jy + moved * uniform(-150, 150, count)
    turn = 0.06 * torch.randn(count, device=DEVICE)
    dx, dy = view.round - per_picture(place["x"] + jx), view.down - per_picture(place["y"] + jy)
    c, s = per_picture(torch.cos(turn)), per_picture(torch.sin(turn))
    u, v = c * dx + s * dy, c * dy - s * dx
    pw, ph = per_picture(place["w"]), per_picture(place["h"])
    paper = ((pw - u.abs()).clamp(-0.5, 0.5) + 0.5) * ((ph - v.abs()).clamp(-0.5, 0.5) + 0.5) * per_picture(on)
    cells = (torch.rand(count, 1, 64, 64, device=DEVICE) < 0.5).float()
    module = per_picture(place["module"])
    grid = torch.stack(((u / module / 32), (v / module / 32)), -1)
    print_ = F.grid_sample(cells, grid, mode="nearest", padding_mode="reflection", align_corners=False)
    print_ = print_ * ((u.abs() < pw * 0.72) & (v > -ph * 0.8) & (v < ph * 0.5)).float().unsqueeze(1)
    ink = one(uniform(0.02, 0.15, count))
    white = one(uniform(0.55, 0.95, count))
    return mix(light, mix(white * torch.ones_like(light), ink * torch.ones_like(light), print_), paper.unsqueeze(1)), paper.unsqueeze(1)


def _some(count, one_in):
    """A run of samples, one in so many, for what is too slow to draw and leave unused."""
    start = torch.randint(0, count - count // one_in + 1, (1,)).item()
    return slice(start, start + count // one_in)


def _droplets(view, light):
    """Drops on the plastic bend what is behind them and carry a glint and a dark edge."""
    count, _, h, w = light.shape
    drops = Grains(count, 2, torch.full((count, 10), 0.1, device=DEVICE), h, w)
    drops.pitch = log_uniform(9, 40, count)
    n = drops.shape.shape[1]
    drops.shape[..., 2] = drops.pitch.view(-1, 1) * uniform(0.12, 0.55, count, n) * (torch.rand(count, n, device=DEVICE) < uniform(0.1, 0.7, count, 1))
    drops.shape[..., 5], drops.shape[..., 6], drops.shape[..., 7], drops.shape[..., 8] = uniform(1, 1.3, count, n), 0.0, 1.0, 0.0
    z = drops.draw(view.round, view.y)[0]
    body = smoothstep(-100, -50, z)
    z = z.clamp(min=-12)
    sy, sx = F.pad(z[:, 2:] - z[:, :-2], (0, 0, 1, 1)), F.pad(z[:, :, 2:] - z[:, :, :-2], (1, 1))
    bend = per_picture(uniform(2, 7, count))
    grid = torch.stack(((view.x + bend * sx.clamp(-2, 2) + 0.5) / w * 2 - 1, (view.y + bend * sy.clamp(-2, 2) + 0.5) / h * 2 - 1), -1)
    through = F.grid_sample(light, grid, padding_mode="border", align_corners=False)
    glint = smoothstep(0.35, 1.0, sy * 0.9 + sx * per_picture(uniform(-0.6, 0.6, count))).unsqueeze(1) * one(log_uniform(0.05, 0.7, count))
    edge = 1 - 0.5 * smoothstep(0.3, 1.2, -sy).unsqueeze(1) * one(uniform(0, 1, count))
    return mix(light, through * edge * one(uniform(0.8, 1.25, count)) + glint, body.unsqueeze(1) * one(uniform(0.3, 1, count)))


def _plastic(view, light, count):
    """On and in front of the wall: algae, droplets, fog, scratches and dribbles, lamps and windows."""
    b, _, h, w = light.shape
    size = (count, h, w)
    green = smoothstep(0.3, 1.8, noise(size, log_uniform(30, 150, count), 3)) * per_picture(chance(0.12, count) * uniform(0.1, 0.7, count))
    light = mix(light, light * torch.tensor([0.45, 0.75, 0.25], device=DEVICE).view(1, 3, 1, 1) + torch.tensor([0.01, 0.04, 0.005], device=DEVICE).view(1, 3, 1, 1), green.unsqueeze(1))
    wet = _some(count, 4)
    light = torch.cat((light[:wet.start], _droplets(view.of(wet), light[wet]), light[wet.stop:]))
    fog = per_picture(chance(0.4, count) * uniform(0.05, 0.7, count)) * smoothstep(-1.2, 1.0, noise(size, log_uniform(30, 250, count), 2))
    veil = one(light.mean((1, 2, 3)) * uniform(0.8, 2.2, count))
    haze = blur(light, 2.5)
    light = mix(light, mix(haze, veil * torch.ones_like(light), 0.55), fog.unsqueeze(1))
    some = _some(count, 3)
    marked = view.of(some)
    curves = root_shapes.marks(some.stop - some.start, view.size, marked)
    outside, _ = curves.nearest(h, w, (8, 4, 2, 1))
    strength = ((0.5 - outside).clamp(0, 1) * curves.carry("strength")).unsqueeze(1)
    scratched = mix(light[some], curves.carry("tone").unsqueeze(1).expand_as(light[some]), strength)
    light = torch.cat((light[:some.start], scratched, light[some.stop:]))
    # towards the sides the plastic mirrors the room and veils the medium
    room = noise(size, log_uniform(40, 300, count), 2).unsqueeze(1) * one(uniform(0, 0.5, count)) + 1
    room = room.clamp(min=0.1) * one(light.mean((1, 2, 3)) * log_uniform(0.3, 3.5, count)) * (1 + 0.2 * torch.randn(count, 3, 1, 1, device=DEVICE))
    light = mix(light, room.clamp(0.01, 1.5), (view.mirror.unsqueeze(1) * one(uniform(0.2, 1.3, count))).clamp(0, 0.93))
    # pots, leaves, books, hands mirrored in it: coloured patches, mostly where the wall is seen at a slant
    for _ in range(3):
        dx = (view.x - per_picture(uniform(-0.1, 1.1, count) * w)).abs() - per_picture(log_uniform(4, 110, count))
        dy = (view.y - per_picture(uniform(-0.1, 1.1, count) * h)).abs() - per_picture(log_uniform(10, 200, count))
        patch = torch.sigmoid(-dx / per_picture(log_uniform(0.8, 12, count))) * torch.sigmoid(-dy / per_picture(log_uniform(0.8, 20, count)))
        reach = torch.where((torch.rand(count, device=DEVICE) < 0.7).view(-1, 1, 1), (view.mirror * 3 + 0.04).clamp(max=1), torch.full_like(view.mirror, 0.2))
        share = (patch * reach * per_picture(chance(0.55, count) * uniform(0.1, 0.85, count))).unsqueeze(1)
        hue = torch.rand(count, 3, 1, 1, device=DEVICE) ** 1.7
        light = light * (1 - share) + share * hue * one(light.mean((1, 2, 3)) * log_uniform(0.8, 4, count))
    # lamps and windows, mirrored: upright strips and panes, soft or sharp
    for _ in range(3):
        x, y = uniform(-0.1, 1.1, count) * w, uniform(-0.2, 1.2, count) * h
        half_w, half_h = log_uniform(4, 140, count), log_uniform(15, 260, count)
        edge = per_picture(log_uniform(1.0, 14, count))
        lean = per_picture(0.08 * torch.randn(count, device=DEVICE))
        dx = view.x - per_picture(x) + lean * (view.y - per_picture(y))
        dy = view.y - per_picture(y)
        pane = torch.sigmoid((per_picture(half_w) - dx.abs()) / edge) * torch.sigmoid((per_picture(half_h) - dy.abs()) / edge)
        bar = 1 - per_picture(chance(0.4, count) * 0.9) * torch.exp(-(dx / per_picture(half_w * 0.06 + 1.0)) ** 2)
        strong = per_picture(chance(0.33, count) * log_uniform(0.02, 1.3, count))
        tone = torch.stack((uniform(0.85, 1, count), uniform(0.9, 1, count), uniform(0.85, 1.1, count)), 1).view(count, 3, 1, 1)
        light = light + (pane * bar * strong).unsqueeze(1) * tone * (0.5 + light.mean((1, 2, 3), keepdim=True))
    return light


_DCT = torch.tensor([[math.sqrt((1 if k == 0 else 2) / 8) * math.cos(math.pi * k * (2 * n + 1) / 16) for n in range(8)]
                     for k in range(8)], device=DEVICE)
_LUMA = torch.tensor([[16, 11, 10, 16, 24, 40, 51, 61], [12, 12, 14, 19, 26, 58, 60, 55], [14, 13, 16, 24, 40, 57, 69, 56],
                      [14, 17, 22, 29, 51, 87, 80, 62], [18, 22, 37, 56, 68, 109, 103, 77], [24, 35, 55, 64, 81, 104, 113, 92],
                      [49, 64, 78, 87, 103, 121, 120, 101], [72, 92, 95, 98, 112, 100, 103, 99]], device=DEVICE, dtype=torch.float32)


def _blocks(channel, table):
    """Quantise (B,H,W) in 8x8 blocks by (B,8,8) steps, as JPEG does (tables: ITU-T T.81, annex K)."""
    b, h, w = channel.shape
    x = channel.view(b, h // 8, 8, w // 8, 8).permute(0, 1, 3, 2, 4)
    f = _DCT @ x @ _DCT.t()
    q = table.view(b, 1, 1, 8, 8)
    x = _DCT.t() @ (torch.round(f / q) * q) @ _DCT
    return x.permute(0, 1, 3, 2, 4).reshape(b, h, w)


def _jpeg(srgb, quality):
    scale = torch.where(quality < 50, 5000 / quality, 200 - 2 * quality) / 100
    r, g, b = srgb.unbind(1)
    y = 0.299 * r + 0.587 * g + 0.114 * b
    cb, cr = (b - y) * 0.564, (r - y) * 0.713
    luma = (_LUMA.unsqueeze(0) * scale.view(-1, 1, 1)).clamp(min=1) / 255
    chroma = ((_LUMA * 1.4).clamp(max=99).unsqueeze(0) * scale.view(-1, 1, 1)).clamp(min=1) / 255
    y = _blocks(y, luma)
    def small(c):
        c = _blocks(F.avg_pool2d(c.unsqueeze(1), 2)[:, 0], chroma)
        return F.interpolate(c.unsqueeze(1), scale_factor=2, mode="bilinear", align_corners=False)[:, 0]
    cb, cr = small(cb), small(cr)
    return torch.stack((y + 1.402 * cr, y - 0.344 * cb - 0.714 * cr, y + 1.772 * cb), 1).clamp(0, 1)


def _lens(count):
    """Blur kernels: out of focus (round) and, in some, moved."""
    k = 15
    v, u = torch.meshgrid(torch.arange(k, device=DEVICE) - 7.0, torch.arange(k, device=DEVICE) - 7.0, indexing="ij")
    sigma = per_picture(0.35 + chance(0.75, count) * log_uniform(0.1, 1.1, count) + chance(0.1, count) * log_uniform(0.7, 2.5, count))
    spot = torch.exp(-0.5 * (u * u + v * v).unsqueeze(0) / sigma ** 2)
    turn, reach = uniform(0, math.pi, count), chance(0.15, count) * log_uniform(0.5, 3.0, count) + 0.01
    c, s = per_picture(torch.cos(turn)), per_picture(torch.sin(turn))
    moved = torch.zeros_like(spot)
    for t in torch.linspace(-1, 1, 7):
        du, dv = u - t * per_picture(reach) * c, v - t * per_picture(reach) * s
        moved = moved + torch.exp(-0.5 * (du * du + dv * dv) / sigma ** 2)
    return moved / moved.sum((1, 2), keepdim=True)


def _camera(light, count):
    """Linear light as seen -> 8-bit sRGB as a phone stores it, back at the seen size."""
    b, _, h, w = light.shape
    light = filter_each(light, _lens(count))
    # the phone's pixels: 2.5 to 6.7 to the millimetre
    scale = per_picture(torch.where(torch.rand(count, device=DEVICE) < 0.6, uniform(0.85, 1.0, count), log_uniform(0.38, 0.9, count)))
    ys = torch.arange(h, device=DEVICE, dtype=torch.float32).view(1, h, 1).expand(b, h, w)
    xs = torch.arange(w, device=DEVICE, dtype=torch.float32).view(1, 1, w).expand(b, h, w)
    off_x, off_y = per_picture(uniform(-1, 1, count)), per_picture(uniform(-1, 1, count))
    def at(x, y):
        return torch.stack(((x + 0.5) / w * 2 - 1, (y + 0.5) / h * 2 - 1), -1)
    soft = blur(light, 0.6)
    light = mix(light, soft, one(smoothstep(1.0, 0.7, scale[:, 0, 0])))
    photo = F.grid_sample(light, at((xs - w / 2) / scale + w / 2 + off_x, (ys - h / 2) / scale + h / 2 + off_y),
                          padding_mode="reflection", align_corners=False)
    x0, y0 = uniform(-0.5, 1.5, count) * w, uniform(-0.5, 1.5, count) * h
    far = ((xs - per_picture(x0)) ** 2 + (ys - per_picture(y0)) ** 2) / (w * w)
    photo = photo * (1 - per_picture(uniform(0, 0.35, count)) * far).clamp(0.25, 1).unsqueeze(1)
    side = (xs / w - 0.5) * per_picture(uniform(-0.7, 0.7, count)) + (ys / h - 0.5) * per_picture(uniform(-0.5, 0.5, count))
    photo = photo * (1 + side).clamp(0.3).unsqueeze(1)
    gains = 1 + torch.stack((uniform(-0.2, 0.25, count), uniform(-0.04, 0.04, count), uniform(-0.25, 0.2, count)), 1)
    # lamps for plants, tungsten, a phone that gets the white wrong
    gains = gains * torch.exp(0.5 * torch.randn(count, 3, device=DEVICE) * chance(0.12, count, 1))
    exposure = log_uniform(0.16, 0.55, count) / photo.mean((1, 2, 3)).clamp(min=0.05) ** uniform(0.4, 0.9, count)
    photo = photo * gains.view(count, 3, 1, 1) * one(exposure)
    shot, read = one(log_uniform(2e-5, 2.5e-3, count)), one(log_uniform(1e-6, 1.5e-4, count))
    photo = photo + torch.randn_like(photo) * torch.sqrt(shot * photo.clamp(min=0) + read)
    shoulder = one(uniform(0, 0.5, count))
    photo = photo.clamp(0, 3)
    photo = mix(photo, photo / (0.55 + 0.6 * photo), shoulder)
    srgb = to_srgb(photo)
    contrast = one(uniform(-0.25, 0.35, count))
    srgb = mix(srgb, srgb * srgb * (3 - 2 * srgb), contrast).clamp(0, 1)
    grey = srgb.mean(1, keepdim=True)
    srgb = (grey + (srgb - grey) * one(uniform(0.55, 1.25, count))).clamp(0, 1)
    cleaned = blur(srgb, 0.8)
    srgb = mix(srgb, cleaned, one(chance(0.3, count) * uniform(0, 0.9, count)))
    srgb = (srgb + one(chance(0.6, count) * uniform(0, 1.3, count)) * (srgb - blur(srgb, 1.1))).clamp(0, 1)
    srgb = _jpeg(srgb, uniform(60, 97, count))
    back = F.grid_sample(srgb, at((xs - w / 2 - off_x) * scale + w / 2, (ys - h / 2 - off_y) * scale + h / 2),
                         padding_mode="border", align_corners=False)
    return (back * 255).round() / 255


def take_photo(view, fields, occasion, label):
    """Scene fields (B,5+,h,w) -> panel sRGB (B,3,n,n) before misalignment, what hides the medium (B,1,h,w), and px below
    the water's skin (B,1,h,w), very negative where none stands."""
    count = fields.shape[0]
    z, drink, colour = fields[:, 0], fields[:, 1], fields[:, 2:5]
    linear, below, under = _wet(view, z, colour, drink, occasion, count)
    z_lit = z * (1 - 0.5 * under * per_picture(uniform(0, 1, count)))
    light = _light(z_lit, linear, count)
    light = _water(light, z, below, under, count)
    light, gone = _ends(view, light, count)
    light = _level_things(view, light, count)
    light, paper = _label(view, light, label, count)
    light = _plastic(view, light, count)
    return _camera(light, count), torch.maximum(gone, paper), below.unsqueeze(1)


def _hidden_roots(roots, count):
    """What the program hides of a late series' earlier panel: what it took for roots there, and now and then what was none.
    roots, and what comes back: (B,1,n,n), 0..1."""
    roots = (roots > 0.3).float()
    patches = smoothstep(-0.2, 0.2, noise(roots[:, 0].shape, log_uniform(20, 120, count), 2) + per_picture(uniform(-0.5, 2, count))).unsqueeze(1)
    late = (roots.mean((1, 2, 3), keepdim=True) > 0.005).float()
    mistaken = roots.roll(1, 0).flip(3) * one(chance(0.15, count))
    hidden = torch.maximum(roots * patches, mistaken * late)
    return F.max_pool2d(hidden, 7, 1, 3) * one(chance(0.7, count))


def make_pair(view, first, later, alone):
    """Network input (B,6,n,n), target (B,3,n,n) of 0 or 1, that of the water (B,3,n/4,n/4), 0..1: below it, on its line,
    whether that counts; and how much each column counts (B,1,1,n): its share of the photo.

    alone (B,): how likely it is that there is no reference panel.
    """
    count, n = first.shape[0], view.size
    today, earlier = Occasion(view), Occasion(view)
    same = chance(0.35, count)
    earlier.wet = mix(earlier.wet, today.wet, same)
    earlier.level = torch.where(torch.rand(count, device=DEVICE) < 0.15, today.level + 12 * torch.randn(count, device=DEVICE), earlier.level)
    label = label_place(count, n)
    new, new_hidden, below = take_photo(view, later, today, label)
    old, old_hidden, _ = take_photo(view, first, earlier, label)
    truth = later[:, 5:8] * (1 - new_hidden)
    drift = [noise((count, n, n), log_uniform(60, 300, count)) * per_picture(log_uniform(0.15, 1.7, count)) +
             per_picture(0.6 * torch.randn(count, device=DEVICE)) for _ in range(2)]
    facing = view.facing()
    new_panel = view.unroll(new) * facing
    old_panel = view.unroll(old, shift_x=drift[0], shift_y=drift[1]) * facing
    target = (view.unroll(truth) > 0.5).float() * facing
    below, unseen = view.unroll(torch.cat((below.clamp(-1e3, 1e3), new_hidden), 1)).split(1, 1)
    water = torch.cat((torch.sigmoid(2 * below), torch.exp(-(below / LINE_PX) ** 2), (unseen < 0.5).float() * facing.expand_as(unseen)), 1)
    water = F.avg_pool2d(water, 4)
    # where the first photo did not see the wall: all of it, a side, or nothing
    around = torch.arange(n, device=DEVICE).view(1, 1, n)
    cut = uniform(0.05, 0.95, count) * n
    strip = torch.where((torch.rand(count, device=DEVICE) < 0.5).view(-1, 1, 1), around < per_picture(cut), around > per_picture(cut))
    lost = (strip & (torch.rand(count, device=DEVICE) < 0.15).view(-1, 1, 1)).float()
    lost = torch.maximum(lost, per_picture((torch.rand(count, device=DEVICE) < alone).float())).unsqueeze(1)
    hidden = (view.unroll(old_hidden, shift_x=drift[0], shift_y=drift[1]) > 0.5).float() * one(chance(0.5, count))
    burnt = (blur(old_panel, 2.0).amin(1, keepdim=True) > 0.9).float() * one(chance(0.6, count))   # glare, taken for not visible
    old_panel = old_panel * (1 - torch.maximum(torch.maximum(lost, hidden), burnt))
    old_panel = old_panel * (1 - _hidden_roots(view.unroll(first[:, 5:6], shift_x=drift[0], shift_y=drift[1]), count))
    wrong = (torch.rand(count, device=DEVICE) < 0.03).view(-1, 1, 1, 1)  # a reference panel that was aligned wrongly
    old_panel = torch.where(wrong, old_panel.roll((37, 61), (2, 3)), old_panel)
    pair = torch.cat((new_panel.flip(1), old_panel.flip(1)), 1)   # B,G,R
    return pair, target, water, view.share_of_photo() * facing
