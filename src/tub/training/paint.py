"""Invented photos of tubs in a room, with the truth of what each pixel shows.   make_photos(count, album) -> input, truth, weight

Shapes and colours are by eye; no photograph is used.
"""
import math

import torch
import torch.nn.functional as F

from draw import DEVICE, blur, chance, log_uniform, mix, noise, per_picture, smoothstep, uniform
from rays import SIZE, Camera, Cone, Standing

AREAS = ("medium", "empty", "cover")                                  # what the target tub shows
LINES = ("left", "right", "foot", "rim", "surface")                   # where its edges run
SIGMA = 2.0                                                           # of a line, px of the canvas


def one(values):
    return values.view(-1, 1, 1, 1)


def colour(count, lo=0.03, hi=0.8, grey=0.5):
    """Linear light (B,3,1,1): some grey, some not."""
    tone = log_uniform(lo, hi, count).view(-1, 1)
    hue = torch.rand(count, 3, device=DEVICE) ** 1.5
    hue = hue / hue.mean(1, keepdim=True).clamp(min=0.1)
    return (tone * mix(hue, 1 + 0.08 * torch.randn(count, 3, device=DEVICE), (chance(grey, count) * uniform(0.6, 1, count)).view(-1, 1))).clamp(0.01, 1.2).view(-1, 3, 1, 1)


def sized(count):
    return (count, SIZE, SIZE)


def over(under, paint, share):
    """paint (B,3,..) over under, share (B,H,W) 0..1."""
    return under + (paint - under) * share.unsqueeze(1)


def soft_less(values, edge=1.0):
    """1 where values < 0, over about a pixel; values in px."""
    return (0.5 - values / edge).clamp(0, 1)


# ---------------------------------------------------------------- room

def _wood(x, y, count):
    grain = per_picture(log_uniform(2, 14, count))
    turn = per_picture(torch.where(torch.rand(count, device=DEVICE) < 0.5, torch.zeros(count, device=DEVICE), torch.full((count,), math.pi / 2, device=DEVICE)) + 0.15 * torch.randn(count, device=DEVICE))
    u = x * torch.cos(turn) + y * torch.sin(turn)
    v = y * torch.cos(turn) - x * torch.sin(turn)
    wave = torch.sin(u / grain + 2.5 * torch.sin(v / per_picture(log_uniform(30, 200, count)))) + 0.6 * torch.sin(u / grain * 2.7 + v / 60)
    return wave * per_picture(uniform(0.02, 0.22, count))


def _squares(x, y, count):
    side = per_picture(log_uniform(4, 160, count))
    joint = per_picture(log_uniform(0.02, 0.12, count))
    def near(v):
        return ((torch.remainder(v / side, 1) - 0.5).abs() > 0.5 - joint).float()
    check = ((torch.floor(x / side) + torch.floor(y / side)) % 2)
    line = torch.maximum(near(x), near(y))
    return mix(line, check, per_picture(chance(0.4, count))) * per_picture(uniform(-0.5, 0.5, count))


def _surface(x, y, mm_per_px, album, count):
    """A colour (B,3,H,W) for places (mm) on a table or a wall."""
    paint = colour(count) * torch.ones(1, 1, SIZE, SIZE, device=DEVICE)
    kind = per_picture(torch.rand(count, device=DEVICE))
    pattern = torch.where(kind < 0.3, _wood(x, y, count), torch.where(kind < 0.45, _squares(x, y, count), torch.zeros_like(x)))
    far = (mm_per_px > per_picture(log_uniform(4, 12, count))).float()
    paint = paint * (1 + pattern * (1 - far)).clamp(min=0.1).unsqueeze(1)
    stone = album.pick(count).at(x, y, mm_per_px.expand_as(x)[:, :1, :1].clamp(0.2, 6))
    return mix(paint, stone * one(log_uniform(0.4, 2, count)), one(chance(0.18, count) * uniform(0.3, 1, count)))


def room(camera, album, count):
    """Table and what is behind it, (B,3,H,W) linear; where the table is."""
    dx, dy, dz = camera.d
    ex, ey, ez = camera.eye
    t = torch.where(dz < -1e-4, -ez / dz.clamp(max=-1e-4), torch.full_like(dz, 1e5)).clamp(0, 1e5)
    x, y = ex + t * dx, ey + t * dy
    reach = per_picture(log_uniform(60, 1500, count))                  # how far the table goes on behind the tub
    table = (dz < -1e-4) & (y > -reach)
    far = per_picture(log_uniform(1, 6, count)) * reach
    t2 = (-(far + ey) / dy.clamp(max=-1e-3)).clamp(0, 1e5)
    wx, wz = ex + t2 * dx, ez + t2 * dz
    px = camera.focal / (ey.clamp(min=60))
    ground = _surface(x, y, (t / camera.focal).clamp(0.1, 50), album, count)
    wall = _surface(wx, wz, (t2 / camera.focal).clamp(0.1, 50), album, count) * one(log_uniform(0.3, 3, count))
    for _ in range(3):                                                 # windows, shelves, doors, bright or dark
        cx, cz = per_picture(uniform(-1, 1, count)) * far.clamp(max=900), per_picture(uniform(-0.3, 1, count)) * far.clamp(max=700)
        w, h = per_picture(log_uniform(15, 700, count)), per_picture(log_uniform(10, 700, count))
        inside = torch.sigmoid((w - (wx - cx).abs()) * px) * torch.sigmoid((h - (wz - cz).abs()) * px)
        wall = over(wall, colour(count, 0.02, 2.5), inside * per_picture(chance(0.4, count)))
    wall = mix(wall, blur(wall, 5.0), one(uniform(0, 1, count) * chance(0.8, count)))
    lump = 1 + 0.25 * noise(sized(count), log_uniform(60, 400, count)).unsqueeze(1) * one(uniform(0, 1, count))
    edge = torch.sigmoid((y + reach) * px * 0.5) * table.float()
    return over(wall, ground, edge) * lump.clamp(min=0.2), (x, y)


def things(camera, album, picture, count, reach_of, how_many, in_front):
    """Boxes, pots, bottles, leaves that stand about; gives the picture and what of it they hide (B,H,W)."""
    dx, dy, dz = camera.d
    ex, ey, ez = camera.eye
    hidden = torch.zeros(sized(count), device=DEVICE)
    for _ in range(how_many):
        y = per_picture(uniform(10, 80, count)) + reach_of if in_front else per_picture(uniform(-320, 20, count))
        side = torch.sign(per_picture(torch.randn(count, device=DEVICE)))
        w = per_picture(log_uniform(10, 110, count))
        gap = per_picture(torch.where(torch.rand(count, device=DEVICE) < 0.3, uniform(-6, 10, count), uniform(-30, 200, count)))
        x = side * (reach_of + gap + w)
        if in_front:
            x = side * (reach_of * per_picture(uniform(0.75, 1.4, count)) + w)
        h = per_picture(log_uniform(15, 330, count))
        t = (y - ey) / dy.clamp(max=-1e-3)
        px = camera.focal / t.clamp(min=30)
        lean = per_picture(uniform(-0.15, 0.3, count) * chance(0.5, count))
        u = (ex + t * dx - x) / (w * (1 + lean * ((ez + t * dz) / h - 0.5)).clamp(min=0.3))
        v = (ez + t * dz) / h
        box = soft_less(torch.maximum(u.abs() * w - w, torch.maximum(-v, v - 1) * h) * px)
        ball = soft_less((torch.sqrt(u * u + (2 * v - 1) ** 2 + 1e-6) - 1) * torch.minimum(w, h / 2) * px)
        shape = torch.where(per_picture(torch.rand(count, device=DEVICE)) < 0.72, box, ball)
        shape = shape * per_picture(chance(0.45 if not in_front else 0.12, count)) * (t > 0)
        paint = colour(count, 0.02, 0.9, 0.3) * (1 + 0.5 * per_picture(uniform(-1, 1, count)) * u.clamp(-1, 1) * (0.3 + u.abs().clamp(max=1))).clamp(0.15).unsqueeze(1)
        band = (v.clamp(0, 1) * per_picture(uniform(1, 9, count))).floor() % 2
        paint = mix(paint, colour(count, 0.02, 0.9, 0.3), (band.unsqueeze(1) * one(chance(0.2, count))))
        grain = album.pick(count).at(u * w, v * h, (1 / px)[:, SIZE // 2:SIZE // 2 + 1, SIZE // 2:SIZE // 2 + 1].clamp(0.2, 5))
        paint = mix(paint, grain, one(chance(0.2, count)))
        picture = over(picture, paint, shape)
        hidden = torch.maximum(hidden, shape)
    return picture, hidden


# ---------------------------------------------------------------- tub

def _strips(s, count, how_many, strength):
    """Windows and lamps mirrored in the wall, (B,H,W) light added."""
    light = torch.zeros_like(s.z)
    for _ in range(how_many):
        a, z = per_picture(uniform(-1.2, 1.2, count)), per_picture(uniform(0, 1.1, count)) * s.cone.height
        wa, wz = per_picture(log_uniform(0.015, 0.3, count)), per_picture(log_uniform(5, 120, count))
        soft = per_picture(log_uniform(0.01, 0.08, count))
        pane = torch.sigmoid((wa - (s.angle - a + per_picture(0.001 * torch.randn(count, device=DEVICE)) * (s.z - z)).abs()) / soft) * \
            torch.sigmoid((wz - (s.z - z).abs()) / (soft * 60))
        light = light + pane * per_picture(chance(strength, count) * log_uniform(0.02, 1.6, count))
    return light


def _droplets(s, picture, sharp, surface, count):
    """Drops on the plastic, bright on one side and dark on the other; over the medium only, in its headspace only, or all over."""
    lumps = noise(sized(count), log_uniform(1.6, 7, count))
    body = smoothstep(0.0, 0.5, lumps - per_picture(uniform(0.2, 1.8, count)))
    slope = F.pad(lumps[:, 2:] - lumps[:, :-2], (0, 0, 1, 1)) + per_picture(uniform(-1, 1, count)) * F.pad(lumps[:, :, 2:] - lumps[:, :, :-2], (1, 1))
    turn = per_picture(2 * chance(0.6, count) - 1)
    where = per_picture(torch.rand(count, device=DEVICE))
    above = torch.sigmoid((s.z - surface - 2) / 2)
    there = torch.where(where < 0.35, above, torch.where(where < 0.5, 1 - above, torch.ones_like(above)))
    patchy = smoothstep(-1, 0.5, noise(sized(count), log_uniform(20, 120, count)) + per_picture(uniform(-0.5, 1.5, count)))
    strength = body * there * patchy * sharp * per_picture(chance(0.35, count) * uniform(0.15, 0.95, count))
    picture = picture * (1 - 0.7 * strength * torch.sigmoid(-4 * slope * turn)).unsqueeze(1)
    glint = strength * torch.sigmoid(6 * (slope * turn - 0.4)) * per_picture(log_uniform(0.2, 1.3, count))
    return picture + glint.unsqueeze(1) * (0.3 + picture.mean((1, 2, 3), keepdim=True))


def _mist(s, surface, count):
    """Mist on the plastic above the medium alone, 0..1."""
    thick = per_picture(chance(0.2, count) * uniform(0.1, 0.9, count))
    patchy = smoothstep(-1.5, 0.5, noise(sized(count), log_uniform(8, 80, count), 2) + per_picture(uniform(-0.5, 1.5, count)))
    return thick * patchy * torch.sigmoid((s.z - surface - per_picture(uniform(-4, 6, count))) / per_picture(uniform(0.4, 5, count)))


def _beads(s, picture, sharp, surface, px, count):
    """Round drops beside each other, as vapour leaves them on cold plastic, large as grains: mostly in the headspace. Each shows
    what is behind it upside down, and a lamp."""
    u, v = s.angle * s.cone.radius(s.z), s.z
    behind = blur(picture, 3.0)
    grey = colour(count, 0.15, 1.4, 0.9)
    above = surface + per_picture(uniform(-6, 4, count))
    span = per_picture(log_uniform(3, 25, count))
    where = per_picture(torch.rand(count, device=DEVICE))
    there = torch.where(where < 0.6, torch.sigmoid((v - above) / per_picture(uniform(0.3, 4, count))),
                        torch.where(where < 0.72, torch.exp(-((v - above - span) / span) ** 2), torch.ones_like(v)))
    there = there * smoothstep(-1.2, 0.4, noise(sized(count), log_uniform(15, 150, count)) + per_picture(uniform(-0.6, 2.5, count)))
    wet = chance(0.35, count)
    strength = uniform(0.15, 1.0, count)
    side, lamp = per_picture(uniform(-1, 1, count)), per_picture(uniform(0.2, 0.7, count))
    often, pale = per_picture(uniform(0.25, 1.0, count)), per_picture(uniform(0, 0.8, count))
    for layer in range(3):
        pitch = per_picture(log_uniform(0.7, 2.0, count)) * 1.9 ** layer
        best = torch.full_like(v, 9.0)
        at_x, at_y, tone = torch.zeros_like(v), torch.zeros_like(v), torch.zeros_like(v)
        gx, gy = u / pitch, v / pitch
        for di in (-1, 0, 1):
            for dj in (-1, 0, 1):
                i, j = torch.floor(gx) + di, torch.floor(gy) + dj
                def drawn(k):
                    return torch.remainder(torch.sin(i * 127.1 + j * 311.7 + 74.7 * k + layer * 19.3) * 4375.85, 1)
                radius = 0.12 + 0.4 * drawn(1)
                dx, dy = (gx - i - drawn(2)) / radius, (gy - j - drawn(3)) / radius * 0.92
                far = torch.hypot(dx, dy) + 9 * (drawn(4) > often).float()
                nearer = far < best
                best = torch.where(nearer, far, best)
                at_x, at_y, tone = torch.where(nearer, dx, at_x), torch.where(nearer, dy, at_y), torch.where(nearer, drawn(5), tone)
        body = soft_less((best - 1) * pitch * 0.3 * px) * there * sharp * per_picture(wet * strength * chance((0.9, 0.7, 0.35)[layer], count))
        rim = smoothstep(0.55, 1.0, best)
        shade = (1 - 0.5 * at_y - 0.5 * rim).clamp(0.1) * (0.4 + 1.2 * tone)
        inside = mix(behind, grey.expand_as(behind), (pale * tone).unsqueeze(1)) * shade.unsqueeze(1)
        picture = over(picture, inside, body * 0.85)
        spot = torch.exp(-(((at_x - 0.45 * side) ** 2 + (at_y - lamp) ** 2) / 0.06)) * body * (best < 1.2)
        picture = over(picture, grey * 2, spot * per_picture(uniform(0, 1, count)))
    return picture


def _covers(s, px, count):
    """Label, stickers, tape, writing on the wall: paint (B,3,H,W), where (B,H,W), and where a code is."""
    cone = s.cone
    u, v = s.angle * cone.radius(s.z), s.z
    paint = torch.zeros(count, 3, SIZE, SIZE, device=DEVICE)
    where = torch.zeros_like(u)
    # label: paper with a code and a word
    side = per_picture(log_uniform(13, 34, count))
    lu = per_picture(uniform(-0.8, 0.8, count)) * cone.base
    lv = cone.height * per_picture(uniform(0.35, 0.85, count))
    turn = per_picture(0.07 * torch.randn(count, device=DEVICE))
    du, dv = u - lu, v - lv
    du, dv = du * torch.cos(turn) + dv * torch.sin(turn), dv * torch.cos(turn) - du * torch.sin(turn)
    on = per_picture(chance(0.5, count))
    border = per_picture(uniform(1.15, 1.6, count))
    paper = soft_less((torch.maximum(du.abs() - side / 2 * border, (dv + 0.15 * side).abs() - side / 2 * (border + 0.3))) * px) * on
    code = soft_less(torch.maximum(du.abs(), dv.abs()) * px - side / 2 * px) * on
    cells = (torch.rand(count, 1, 25, 25, device=DEVICE) < 0.5).float()
    for a in (0, 18):
        for b in (0, 18):
            if (a, b) != (18, 18):
                cells[:, :, a:a + 7, b:b + 7] = 1
                cells[:, :, a + 1:a + 6, b + 1:b + 6] = 0
                cells[:, :, a + 2:a + 5, b + 2:b + 5] = 1
    grid = torch.stack((du / side * 2, -dv / side * 2), -1)
    ink = F.grid_sample(F.interpolate(cells, scale_factor=4, mode="nearest"), grid, mode="bilinear", padding_mode="zeros", align_corners=False)[:, 0]
    word = ((dv + 0.68 * side).abs() < 0.09 * side) & (du.abs() < 0.35 * side) & (torch.sin(du / side * 60) > -0.4)
    ink = torch.maximum(ink * code, word.float())
    sheet = one(uniform(0.45, 1.0, count)) * (1 + 0.05 * torch.randn(count, 3, 1, 1, device=DEVICE))
    paint = over(paint, mix(sheet.expand_as(paint), torch.full_like(paint, 0.03), ink.unsqueeze(1)), paper)
    where = torch.maximum(where, paper)
    # stickers and tape
    for _ in range(2):
        cu, cv = per_picture(uniform(-1, 1, count)) * cone.base, per_picture(uniform(0.05, 1, count)) * cone.height
        w, h = per_picture(log_uniform(4, 60, count)), per_picture(log_uniform(4, 30, count))
        band = per_picture(chance(0.3, count))
        w = mix(w, torch.full_like(w, 1e3), band)
        t = per_picture(0.15 * torch.randn(count, device=DEVICE))
        a, b = (u - cu) + t * (v - cv), (v - cv) - t * (u - cu)
        shape = torch.where(per_picture(torch.rand(count, device=DEVICE)) < 0.7, torch.maximum(a.abs() - w, b.abs() - h),
                            (torch.sqrt((a / w) ** 2 + (b / h) ** 2 + 1e-6) - 1) * torch.minimum(w, h))
        stuck = soft_less(shape * px) * per_picture(chance(0.12, count))
        stripes = ((b / h * per_picture(uniform(0.5, 5, count))).floor() % 2).unsqueeze(1) * one(chance(0.4, count))
        paint = over(paint, mix(colour(count, 0.05, 1, 0.4), colour(count, 0.02, 0.8, 0.4), stripes), stuck)
        where = torch.maximum(where, stuck)
    # writing with a pen: ridges of noise within a patch
    cu, cv = per_picture(uniform(-0.9, 0.9, count)) * cone.base, per_picture(uniform(0.3, 1, count)) * cone.height
    patch = ((u - cu).abs() < per_picture(uniform(6, 35, count))) & ((v - cv).abs() < per_picture(uniform(3, 14, count)))
    lines = noise(sized(count), log_uniform(5, 18, count)).abs() * 6
    pen = soft_less((lines - per_picture(uniform(0.5, 1.6, count)))) * patch * per_picture(chance(0.2, count))
    paint = over(paint, colour(count, 0.01, 0.4, 0.5).expand_as(paint), pen)
    return paint, torch.maximum(where, pen), code, pen


def tub(camera, cone, album, picture, table, count, x=0.0, y=0.0, filled=None):
    """Paints one tub. Gives the picture and the masks and heights the truth is made of."""
    s = Standing(camera, cone, x, y)
    px = s.px_per_mm()
    mm = 1 / px
    top, rim = cone.height * per_picture(uniform(0.45, 0.97, count)), cone.height
    # the shadow where it stands: on the ring on which the rounded heel rests, darkest in the gap beneath the heel
    heel = per_picture(uniform(0, 4.5, count))
    out = torch.hypot(table[0] - x, table[1] - y) - (cone.base - heel)
    dark = torch.exp(-out.clamp(min=0) / per_picture(log_uniform(1.5, 25, count))) * per_picture(uniform(0.1, 0.85, count))
    gap = soft_less((out - heel) / 0.5) * per_picture(uniform(0, 0.9, count) * chance(0.7, count))
    beneath = (out > -2) * (table[1].abs() < 3e3)
    slantwise = torch.exp(-(((table[0] - x) + per_picture(uniform(-1, 1, count)) * 60).abs() / 60 + (table[1] - y).abs() / 50) ** 2) * per_picture(uniform(0, 0.4, count))
    picture = picture * ((1 - (dark * beneath).clamp(0, 0.95)) * (1 - slantwise) * (1 - gap * beneath)).unsqueeze(1)
    behind = picture
    # rim and lid: a wider cone near the top
    r_hit, r_angle, r_z, r_back = s.cut(cone.base + cone.bead, cone.slope)
    bead_h = per_picture(uniform(1.5, 6, count))
    on_rim = r_hit & (r_z > rim - bead_h) & (r_z < rim)
    lid_h = per_picture(log_uniform(2, 45, count))
    lid_on = per_picture(chance(0.13, count))
    on_lid = r_hit & (r_z >= rim) & (r_z < rim + lid_h)
    back_rim = r_hit & ((r_back - rim + bead_h / 2).abs() < bead_h / 2)
    foot = heel * s.over_heel()
    wall = s.hit & (s.z >= foot) & (s.z <= rim)
    sharp = soft_less((s.z - rim) * px) * soft_less((foot - s.z) * px) * s.hit
    # the far wall, seen through: a faint veil, its edges brighter
    veil = colour(count, 0.05, 1.2, 0.8)
    through = sharp * (s.back_z > 0) * (s.back_z < rim)
    picture = over(picture, veil, through * per_picture(uniform(0.0, 0.25, count)))
    picture = picture * (1 - 0.25 * torch.exp(-((s.back_z - rim).abs() * px / 2.5) ** 2) * per_picture(uniform(-2, 1, count)) * sharp).unsqueeze(1)
    full = torch.ones_like(top) if filled is None else filled
    # level of the medium, a little uneven
    heap = per_picture(0.03 * torch.randn(count, device=DEVICE) * chance(0.6, count)) * torch.sin(s.angle + per_picture(uniform(0, 6.3, count))) * cone.base
    lump = noise(sized(count), log_uniform(2, 14, count), 2) * per_picture(uniform(0.2, 2.0, count))
    clean = top + heap * 1.6
    surface = clean + lump
    tex = album.pick(count)
    inside, mx, my = s.level(top)
    gain = log_uniform(0.5, 2.4, count) * torch.where(torch.rand(count, device=DEVICE) < 0.12, uniform(0.08, 0.4, count), torch.ones(count, device=DEVICE))
    # seen from above, the medium's own top often looks just as its wall does
    alike = chance(0.5, count)
    lit_top = tex.at(mx, my + 300, mm) * one(mix(log_uniform(0.5, 2.2, count), gain * log_uniform(0.75, 1.4, count), alike))
    picture = over(picture, lit_top, (inside & (s.ez > top)).float() * full * (s.hit | (r_hit & (r_z > 0))).float())
    # stems
    stem_light = torch.zeros_like(top)
    for i in range(3):
        sx, sy = (per_picture(torch.randn(count, device=DEVICE)) * 0.3 * cone.base * (i > 0 or 1) for _ in range(2))
        lean = per_picture(0.06 * torch.randn(count, device=DEVICE))
        dx, dy, dz = camera.d
        t = ((sy - s.ey) / dy.clamp(max=-1e-3))
        z = s.ez + t * dz
        radius = per_picture(log_uniform(1.5, 9, count)) * (1 + 0.12 * torch.sin(z / per_picture(log_uniform(4, 14, count))))
        off = (s.ex + t * dx - sx - lean * z) / radius
        shown = soft_less((off.abs() - 1) * radius * px) * (z > top - 1) * (z < top + per_picture(log_uniform(15, 400, count)))
        shown = shown * per_picture(chance((0.85, 0.3, 0.15)[i], count)) * full
        bark = colour(count, 0.02, 0.4, 0.3) * (0.55 + 0.6 * (1 - (off - per_picture(uniform(-0.6, 0.6, count))) ** 2).clamp(min=0)).unsqueeze(1)
        picture = over(picture, bark, shown)
    # the medium against the wall; the plastic's thickness leaves a gap at the sides and at the base
    g_hit, g_angle, g_z, _ = s.cut(cone.base - cone.wall * per_picture(uniform(0, 1, count)), cone.slope)
    floor = per_picture(uniform(0.3, 3.0, count))
    deep = soft_less((g_z - surface) * px) * soft_less((floor - g_z) * px) * g_hit * (s.z > foot) * full
    medium = tex.at(g_angle * cone.radius(g_z), g_z, mm)
    # light from a side, from above, from behind
    cos = s.slant()
    light = (1 + per_picture(uniform(-0.6, 0.6, count)) * torch.sin(s.angle)) * (1 + per_picture(uniform(-0.4, 0.4, count)) * (s.z / rim - 0.5))
    light = light * mix(torch.ones_like(cos), cos.clamp(0.05, 1), per_picture(uniform(0, 0.9, count)))
    medium = medium * one(gain) * light.clamp(0.05).unsqueeze(1)
    damp = smoothstep(0.0, 1.0, (per_picture(uniform(-0.2, 0.9, count)) - s.z / top) / per_picture(uniform(0.05, 0.5, count)))
    medium = medium * (1 - damp * per_picture(uniform(0, 0.5, count) * chance(0.6, count))).unsqueeze(1)
    level = per_picture(torch.where(torch.rand(count, device=DEVICE) < 0.4, log_uniform(2, 70, count), torch.full((count,), -50.0, device=DEVICE)))
    under = soft_less((g_z - level) * px)
    tint = torch.stack((uniform(0.35, 1, count), uniform(0.3, 0.95, count), uniform(0.2, 0.9, count)), 1).view(count, 3, 1, 1)
    medium = mix(medium, medium * tint, under.unsqueeze(1))
    skin = torch.exp(-((g_z - level) * px / 1.2) ** 2) * per_picture(uniform(0, 0.8, count))
    medium = over(medium, torch.full_like(medium, 0.8), skin)
    picture = over(picture, medium, deep)
    # base: through the heel all looks darker, often black; upon it a glint; other rings anywhere near
    band = soft_less((s.z - foot - heel * per_picture(uniform(0.2, 1.0, count))) * px) * sharp
    picture = mix(picture, picture * one(uniform(0.02, 0.6, count)), (band * per_picture(chance(0.7, count))).unsqueeze(1))
    glint = torch.exp(-(((s.z - foot - heel * per_picture(uniform(0.1, 1.0, count))) / per_picture(log_uniform(0.15, 0.7, count))) ** 2)) * sharp
    picture = over(picture, colour(count, 0.3, 1.8, 0.4), glint * per_picture(chance(0.65, count) * uniform(0.2, 1, count)))
    for _ in range(2):
        at, wide = per_picture(uniform(-0.3, 4.5, count)), per_picture(log_uniform(0.4, 1.6, count))
        ring = torch.exp(-(((s.z - foot - at) / wide) ** 2)) * s.hit * (s.z > foot - 0.5)
        picture = over(picture, colour(count, 0.02, 1.2, 0.8), ring * per_picture(uniform(0, 0.8, count)))
    # ribs and steps
    for _ in range(3):
        at = rim * per_picture(torch.where(torch.rand(count, device=DEVICE) < 0.7, uniform(0.8, 0.99, count), uniform(0.05, 0.95, count)))
        wide = per_picture(log_uniform(0.4, 2.5, count))
        rib = torch.exp(-((s.z - at) / wide) ** 2) * sharp * per_picture(chance(0.5, count))
        picture = picture * (1 + rib * per_picture(uniform(-0.45, 0.6, count))).unsqueeze(1)
        picture = over(picture, torch.ones_like(picture) * 0.9, rib * per_picture(uniform(0, 0.35, count)))
    # dirt and wet on the plastic
    fog = smoothstep(-0.8, 1.2, noise(sized(count), log_uniform(10, 90, count), 2)) * per_picture(chance(0.3, count) * uniform(0.05, 0.8, count))
    haze = mix(blur(picture, 1.5), colour(count, 0.2, 0.9, 1.0), 0.6)
    picture = over(picture, haze, fog * sharp)
    vapour = _mist(s, clean, count)
    picture = over(picture, haze, vapour * sharp)
    picture = _droplets(s, picture, sharp, surface, count)
    picture = _beads(s, picture, sharp, clean, px, count)
    green = smoothstep(0, 1.6, noise(sized(count), log_uniform(12, 60, count), 2)) * per_picture(chance(0.1, count) * uniform(0.1, 0.6, count))
    picture = over(picture, picture * torch.tensor([0.4, 0.75, 0.25], device=DEVICE).view(1, 3, 1, 1), green * sharp)
    # mirrored: the room at the sides, windows and lamps
    mirror = (1 - cos) ** per_picture(uniform(3, 5, count)) * per_picture(uniform(0.1, 1.1, count))
    around = colour(count, 0.05, 1.2, 0.6) * (1 + 0.4 * noise(sized(count), log_uniform(20, 120, count)).unsqueeze(1)).clamp(0.1)
    picture = over(picture, around, (mirror * sharp).clamp(0, 0.9))
    picture = picture + (_strips(s, count, 4, 0.35) * sharp).unsqueeze(1) * (0.3 + picture.mean((1, 2, 3), keepdim=True))
    # and the room itself: coloured or pale patches with straight edges, half clear
    for _ in range(3):
        a, z = per_picture(uniform(-1.4, 1.4, count)), per_picture(uniform(0, 1.1, count)) * rim
        wa, wz = per_picture(log_uniform(0.05, 0.8, count)), per_picture(log_uniform(8, 160, count))
        soft = per_picture(log_uniform(0.004, 0.06, count))
        pane = torch.sigmoid((wa - (s.angle - a).abs()) / soft) * torch.sigmoid((wz - (s.z - z).abs()) / (soft * 60))
        picture = over(picture, colour(count, 0.1, 1.2, 0.7), pane * sharp * per_picture(chance(0.3, count) * uniform(0.1, 0.75, count)))
    # the outermost strip of plastic, edge on: dark, bright or both
    inward = (s.grazing - s.angle.abs()).clamp(min=0) ** 2 * cone.base / 2          # mm from the side, about
    for _ in range(2):
        at, wide = per_picture(uniform(0, 1.6, count)), per_picture(log_uniform(0.3, 1.4, count))
        picture = over(picture, colour(count, 0.02, 1.5, 0.9), torch.exp(-((inward - at) / wide) ** 2) * sharp * per_picture(uniform(0, 0.75, count)))
    paint, cover, code, pen = _covers(s, px, count)
    facing = sharp * (s.angle.abs() < s.grazing)
    cover, code = cover * facing, code * facing
    picture = over(picture, paint * light.clamp(0.2).unsqueeze(1), cover)
    # rim and lid over everything
    rim_tone = colour(count, 0.05, 1.5, 0.9)
    fine = torch.exp(-((r_z - rim + bead_h * per_picture(uniform(0, 1, count))) * px / 1.5) ** 2) * per_picture(uniform(0, 1, count))
    picture = over(picture, rim_tone, on_rim * per_picture(uniform(0.05, 0.5, count)))
    picture = over(picture, torch.ones_like(picture) * one(uniform(0.2, 1.4, count)), (fine * on_rim).clamp(0, 1))
    picture = over(picture, rim_tone, (back_rim & ~wall).float() * per_picture(uniform(0, 0.5, count)))
    lid_tone = colour(count, 0.05, 1.2, 0.6)
    within, _, _ = s.level(rim + lid_h)
    picture = over(picture, lid_tone, (on_lid | (within & (s.ez > rim + lid_h))).float() * lid_on * per_picture(mix(uniform(0.1, 0.5, count), uniform(0.7, 1, count), chance(0.3, count))))
    truth = {"medium": deep * (1 - cover) * facing, "empty": (sharp - deep).clamp(0, 1) * (1 - cover), "cover": cover, "code": code,
             "surface": clean, "rim": rim, "foot": foot, "shape": torch.maximum(sharp, on_rim.float()), "full": full}
    return picture, s, truth


def _lines(s, truth):
    front = s.hit & (s.angle.abs() < s.grazing)
    out = [s.side_line(sign, truth["rim"], SIGMA) for sign in (-1, 1)]
    out.append(s.line_at(s.z - truth["foot"], front, SIGMA))
    rim_hit, rim_angle, rim_z, _ = s.cut(s.cone.base + s.cone.bead, s.cone.slope)
    out.append(s.line_at(rim_z - truth["rim"], rim_hit & (rim_angle.abs() < s.grazing), SIGMA))
    out.append(s.line_at(s.z - truth["surface"], front, SIGMA) * truth["full"])
    return torch.stack(out, 1)


# ---------------------------------------------------------------- camera

def develop(picture, camera, count):
    lamp = torch.ones(count, 3, device=DEVICE) * torch.exp(0.12 * torch.randn(count, 3, device=DEVICE))
    purple = chance(0.05, count).view(-1, 1)
    lamp = mix(lamp, torch.tensor([[1.0, 0.3, 1.1]], device=DEVICE), purple)
    warm = chance(0.2, count).view(-1, 1)
    lamp = lamp * mix(torch.ones_like(lamp), torch.tensor([[1.25, 1.0, 0.6]], device=DEVICE), warm)
    picture = picture * lamp.view(count, 3, 1, 1)
    side = (camera.x / SIZE - 0.5) * per_picture(uniform(-0.8, 0.8, count)) + (camera.y / SIZE - 0.5) * per_picture(uniform(-0.6, 0.6, count))
    picture = picture * (1 + side).clamp(0.25).unsqueeze(1)
    mean = (picture * camera.valid.unsqueeze(1)).mean((1, 2, 3)) / camera.valid.mean((1, 2)) + 0.01
    picture = picture * one(log_uniform(0.1, 0.42, count) / mean)
    sigma = torch.rand(1).item()
    picture = mix(picture, blur(picture, 0.5 + 1.2 * sigma), one(chance(0.5, count) * uniform(0, 1, count)))
    picture = picture + torch.randn_like(picture) * torch.sqrt(one(log_uniform(1e-5, 2e-3, count)) * picture.clamp(min=0) + 1e-6)
    shoulder = one(uniform(0, 0.7, count))
    picture = picture.clamp(0, 4)
    picture = mix(picture, picture / (0.6 + 0.6 * picture), shoulder)
    srgb = picture.clamp(1e-5, 1) ** (1 / 2.2)
    srgb = mix(srgb, srgb * srgb * (3 - 2 * srgb), one(uniform(-0.2, 0.4, count)))
    grey = srgb.mean(1, keepdim=True)
    srgb = grey + (srgb - grey) * one(torch.where(torch.rand(count, device=DEVICE) < 0.06, torch.zeros(count, device=DEVICE), uniform(0.5, 1.3, count)))
    srgb = srgb + one(chance(0.5, count) * uniform(0, 1.0, count)) * (srgb - blur(srgb, 1.0))
    return (srgb.clamp(0, 1) * 255).round() / 255


def make_photos(count, album):
    """Input (B,4,S,S): B,G,R and the target's code; truth (B,8,S,S): AREAS then LINES; weight (B,1,S,S): within the photo."""
    cone = Cone(count)
    camera = Camera(count, cone)
    picture, table = room(camera, album, count)
    widest = cone.radius(cone.height)
    picture, _ = things(camera, album, picture, count, widest, 4, False)
    # neighbours: behind or beside, some nearer to the camera; drawn before the target where they are farther
    for i in range(2):
        if torch.rand(1).item() < 0.55:
            other = Cone(count, cone)
            side = torch.sign(per_picture(torch.randn(count, device=DEVICE)))
            x = side * (widest + other.radius(other.height) + per_picture(torch.where(torch.rand(count, device=DEVICE) < 0.4, uniform(0, 4, count), uniform(0, 60, count))))
            y = per_picture(uniform(-120, 0, count))
            if i == 1:                                               # right behind
                x = x * per_picture(uniform(0.2, 1, count))
                y = -(widest + other.radius(other.height)) - per_picture(uniform(0, 60, count))
            on = chance(0.45, count).view(-1, 1, 1, 1)
            with_other, _, _ = tub(camera, other, album, picture, table, count, x, y, per_picture(chance(0.9, count)))
            picture = torch.where(on > 0, with_other, picture)
    alone = picture
    full = per_picture(chance(0.96, count))
    picture, s, truth = tub(camera, cone, album, picture, table, count, 0.0, 0.0, full)
    picture, hidden = things(camera, album, picture, count, widest, 1, True)
    there = chance(0.95, count).view(-1, 1, 1, 1)
    picture = torch.where(there > 0, picture, alone)
    shown = 1 - hidden
    areas = torch.stack([truth[k] * shown for k in AREAS], 1) * there
    lines = _lines(s, truth) * there
    told = per_picture(chance(0.8, count)) * there[:, 0]
    code = (truth["code"] > 0.5).float() * told
    photo = develop(picture, camera, count)
    weight = camera.valid.unsqueeze(1)
    return torch.cat((photo.flip(1), code.unsqueeze(1)), 1) * weight, torch.cat((areas, lines), 1) * weight, weight
