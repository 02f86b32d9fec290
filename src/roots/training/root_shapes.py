"""Invented roots, and the fibres, twigs and scratches that are not roots: as points along curves."""
import math

import torch

from draw import DEVICE, MM, Curves, chance, log_uniform, mix, smoothstep, uniform

STEP = 3.0  # px between the points a curve is walked by


def _walk(x, y, heading, length, wave, steps):
    """Wander: (B,n) starts -> (B,n,steps) places and headings. wave (B,n): how much it turns."""
    b, n = x.shape
    slow = torch.randn(b, n, max(steps // 16, 2), device=DEVICE)
    slow = torch.nn.functional.interpolate(slow, size=steps, mode="linear", align_corners=True)
    fine = torch.randn(b, n, max(steps // 4, 2), device=DEVICE)
    fine = torch.nn.functional.interpolate(fine, size=steps, mode="linear", align_corners=True)
    bend = uniform(-0.012, 0.012, b, n, 1)
    h = heading.unsqueeze(-1) + torch.cumsum(bend + 0.05 * wave.unsqueeze(-1) * slow, -1) \
        + 0.35 * wave.unsqueeze(-1) * fine
    px = x.unsqueeze(-1) + STEP * (torch.cumsum(torch.cos(h), -1) - torch.cos(h[..., :1]))
    py = y.unsqueeze(-1) + STEP * (torch.cumsum(torch.sin(h), -1) - torch.sin(h[..., :1]))
    at = torch.arange(steps, device=DEVICE).float() * STEP
    return px, py, h, (at < length.unsqueeze(-1))


def _wobble(b, n, steps, every):
    knots = torch.randn(b, n, max(steps // every, 2), device=DEVICE)
    return torch.nn.functional.interpolate(knots, size=steps, mode="linear", align_corners=True)


def _curves(px, py, r, keep, extra, view):
    """Walked points on the wall -> twice as many points as seen, with tangents."""
    def finer(v):
        mid = (v[..., 1:] + v[..., :-1]) / 2
        return torch.stack((v[..., :-1], mid), -1).flatten(-2)

    def finer_keep(k):
        both = k[..., 1:] & k[..., :-1]
        return torch.stack((both, both), -1).flatten(-2)

    base = view.base.view(-1, 1, 1) - r - 1.5
    py = torch.where(py > base, base - 0.12 * (py - base).clamp(max=60), py)   # turned aside by the base, to run along it
    x, y = view.seen(px, py)
    dx, dy = torch.diff(x, dim=-1), torch.diff(y, dim=-1)
    norm = torch.sqrt(dx * dx + dy * dy).clamp(min=1e-3)
    flat = lambda v: v.flatten(1)
    tx, ty = (dx / norm), (dy / norm)
    twice = lambda v: torch.stack((v, v), -1).flatten(-2)
    return Curves(flat(finer(x)), flat(finer(y)), flat(finer(r)), flat(twice(tx)), flat(twice(ty)),
                  flat(finer_keep(keep)), {k: flat(finer(v)) for k, v in extra.items()})


def _join(parts):
    return [torch.cat([p[i].flatten(1) for p in parts], 1) for i in range(len(parts[0]))]


def roots(count, size, view, bare):
    """Two sets of curves (main roots; laterals of first and second order) with what colours and hides them.

    bare (B,1): 1 where none may grow.
    extra: depth (px behind the wall), brown (0..1), tone (lightness), clear (how translucent), born (before the first photo
    where below 1). With them: walls full of roots, (B,1).
    """
    b, n, steps = count, 14, 136
    some = log_uniform(0.8, 14, b, 1).round().clamp(min=0) * chance(0.83, b, 1) * (1 - bare)
    full = chance(0.32, b, 1) * (some > 0)       # walls full of roots, as late in a season
    some = torch.where(full > 0, uniform(6, n, b, 1), some)
    # Series that begin when roots are there. Where few roots are, nothing tells them from fibres of the medium.
    late = chance(0.35, b, 1) * full + chance(0.04, b, 1) * (1 - full)
    order = torch.arange(n, device=DEVICE).view(1, n)
    live = order < some
    x, y = uniform(-0.1, 1.1, b, n) * size, uniform(-0.5, 0.85, b, n) * size
    # roots gather on the base
    base = view.base.view(b, 1)
    y = torch.where((base < 5e3) & (torch.rand(b, n, device=DEVICE) < full * uniform(-0.3, 0.7, b, 1)), base - uniform(0, 140, b, n), y)
    heading = math.pi / 2 + torch.randn(b, n, device=DEVICE) * mix(0.5, 1.4, torch.rand(b, n, device=DEVICE))
    length = log_uniform(25, 420, b, n)
    wave = log_uniform(0.15, 1.4, b, 1) * log_uniform(0.6, 1.6, b, n)
    thick = (log_uniform(0.4, 1.25, b, 1) * log_uniform(0.7, 1.4, b, n)).clamp(0.3, 2.0) * MM / 2
    # bundles: a root that runs beside the one before it
    bundled = (chance(0.25, b, 1) * chance(0.7, b, n)).bool()
    bundled[:, 0] = False
    for i in range(1, n):
        follow = bundled[:, i]
        x[:, i] = torch.where(follow, x[:, i - 1] + uniform(-9, 9, b), x[:, i])
        y[:, i] = torch.where(follow, y[:, i - 1] + uniform(-9, 9, b), y[:, i])
        heading[:, i] = torch.where(follow, heading[:, i - 1] + uniform(-0.12, 0.12, b), heading[:, i])
    px, py, h, keep = _walk(x, y, heading, length, wave, steps)
    keep = keep & live.unsqueeze(-1)
    at = torch.arange(steps, device=DEVICE).float() * STEP
    to_tip = (length.unsqueeze(-1) - at).clamp(min=0)
    taper = mix(uniform(0.45, 1, b, n, 1), torch.ones(1, device=DEVICE), (to_tip / length.unsqueeze(-1)))
    lumpy = log_uniform(0.03, 0.18, b, 1, 1)       # smooth to knotted, every 6 px
    r = thick.unsqueeze(-1) * taper * smoothstep(-2, 10, to_tip) * (1 + 0.07 * _wobble(b, n, steps, 5) + lumpy * _wobble(b, n, steps, 2))
    hidden = log_uniform(0.15, 5, b, 1, 1)
    def depth(k, s, every=12):
        return (hidden * (_wobble(b, k, s, every) + uniform(-1.4, 0.7, b, k, 1))).clamp(min=0)
    # browning: some tubs all white, some in part, some mostly; begins at either end or in lengths between
    brown_share = uniform(-1.4, 2.2, b, 1, 1)
    brown_on = chance(0.5, b, 1, 1) * (1 - 0.8 * late.unsqueeze(-1))
    def brown(k, s, own):
        drift = brown_share + own + 0.9 * _wobble(b, k, s, 14) + uniform(-1.2, 1.2, b, k, 1) * (at[:s] / 200)
        return brown_on * smoothstep(-0.25, 0.25, drift - 0.3)
    own = uniform(-1.2, 1.2, b, n, 1)
    tone, clear = uniform(-1, 1, b, n, 1), uniform(0, 1, b, n, 1)
    ones = torch.ones(b, n, steps, device=DEVICE)
    age = log_uniform(0.4, 3, b, 1, 1)
    born = 99 * (1 - late.unsqueeze(-1)) + (uniform(-0.3, 0.9, b, n, 1) + at / 180) / age
    main = (px, py, r, keep, depth(n, steps), brown(n, steps, own), tone * ones, clear * ones, born)

    lateral_rate = torch.where(full > 0, uniform(0.2, 1, b, 1), chance(0.8, b, 1) * log_uniform(0.05, 1, b, 1))
    def laterals(parent, k, reach, steps):
        pxx, pyy, rr, kk, dd, bb, tt, cc, ww = parent
        m, s = pxx.shape[1:]
        pick = torch.multinomial(kk.flatten(1).float() + 1e-6, k, replacement=True)
        take = lambda v: torch.gather(v.flatten(1), 1, pick)
        direction = torch.atan2(torch.gradient(pyy, dim=-1)[0], torch.gradient(pxx, dim=-1)[0])
        side = torch.where(torch.rand(b, k, device=DEVICE) < 0.5, -1.0, 1.0)
        heading = take(direction) + side * uniform(0.4, 1.7, b, k)
        length = log_uniform(8, reach, b, k)
        wide = (take(rr) * uniform(0.3, 0.75, b, k)).clamp(min=0.15 * MM, max=0.55 * MM)
        lx, ly, _, keep = _walk(take(pxx), take(pyy), heading, length, log_uniform(0.5, 1.6, b, 1) * uniform(0.6, 1.3, b, k), steps)
        keep = keep & (torch.rand(b, k, 1, device=DEVICE) < lateral_rate.unsqueeze(-1)) & take(kk.float()).bool().unsqueeze(-1)
        tip = (length.unsqueeze(-1) - at[:steps]).clamp(min=0)
        rr = wide.unsqueeze(-1) * mix(0.65, 1.0, tip / length.unsqueeze(-1)) * smoothstep(-3, 6, tip)
        one = torch.ones(b, k, steps, device=DEVICE)
        deep = (take(dd).unsqueeze(-1) + at[:steps] * uniform(-0.02, 0.03, b, k, 1)).clamp(min=0) + 0.4 * depth(k, steps, 8)
        young = smoothstep(0, 200, at[:steps]) * uniform(0, 1, b, k, 1)
        old = (take(bb) * (torch.rand(b, k, device=DEVICE) < 0.75)).unsqueeze(-1)
        own = uniform(-1.5, 1.0, b, k, 1)
        dark = torch.maximum(old * (1 - young), brown(k, steps, own) * 0.999)
        return (lx, ly, rr, keep, deep, dark, (take(tt).unsqueeze(-1) + 0.3) * one, take(cc).unsqueeze(-1) * one,
                take(ww).unsqueeze(-1) + (0.3 + at[:steps] / 120) / age)
    first = laterals(main, 56, 130, 44)
    second = laterals(first, 32, 50, 18)
    names = ("depth", "brown", "tone", "clear", "born")
    def curves(part):
        return _curves(*part[:4], dict(zip(names, part[4:])), view)
    sets = [curves(main), curves(first), curves(second)]
    fine = Curves(*[torch.cat((getattr(sets[1], a), getattr(sets[2], a)), 1) for a in ("x", "y", "r", "tx", "ty", "keep")],
                  {k: torch.cat((sets[1].extra[k], sets[2].extra[k]), 1) for k in names})
    return [sets[0], fine], full


def fibres(count, size, view, littered):
    """Peat and coir fibres, bark slivers, twigs: there at both dates. extra: depth, tone, warm, green.

    littered (B,1): 1 where straws, blades, needles or twigs cover the whole wall.
    """
    b, n, steps = count, 72, 40
    plain = lambda usual, among_litter: torch.where(littered > 0, among_litter, usual)
    keep_share = plain(chance(0.7, b, 1) * uniform(0, 1, b, 1) ** 1.3, uniform(0.4, 1, b, 1))
    heading = plain(uniform(0, 2 * math.pi, b, n), uniform(0, 2 * math.pi, b, 1) + uniform(0.1, 3, b, 1) * torch.randn(b, n, device=DEVICE))
    length = plain(log_uniform(8, 110, b, n), log_uniform(50, 118, b, 1) * log_uniform(0.6, 1, b, n))
    wave = plain(log_uniform(0.03, 1.3, b, n), log_uniform(0.01, 0.7, b, 1) * log_uniform(0.5, 2, b, n))
    px, py, _, keep = _walk(uniform(-0.1, 1.1, b, n) * size, uniform(-0.1, 1.1, b, n) * size, heading, length, wave, steps)
    keep = keep & (torch.rand(b, n, device=DEVICE) < keep_share).unsqueeze(-1)
    r = log_uniform(0.6, 2.2, b, n) * torch.where(torch.rand(b, n, device=DEVICE) < 0.05, 4.0, 1.0)
    r = plain(r, log_uniform(1.2, 9, b, 1) * log_uniform(0.6, 1.6, b, n))
    one = torch.ones(b, n, steps, device=DEVICE)
    # Never white: without a reference panel nothing would tell a white fibre from a root, and roots would be left out for it.
    tone = plain(log_uniform(0.1, 0.75, b, n), (log_uniform(0.25, 0.9, b, 1) * log_uniform(0.6, 1.5, b, n)).clamp(max=0.95))
    depth = plain(uniform(0, 4, b, n) ** 1.5, uniform(-4, 1, b, n) - uniform(0, 3, b, 1))   # litter lies before the grains
    extra = {"depth": depth.unsqueeze(-1) * one, "tone": tone.unsqueeze(-1) * one,
             "warm": plain(uniform(0.35, 1, b, n), uniform(0, 1, b, 1) * uniform(0, 1, b, n)).unsqueeze(-1) * one,
             "green": (littered * chance(0.4, b, 1) * uniform(0, 1, b, n)).unsqueeze(-1) * one}
    return _curves(px, py, r.unsqueeze(-1) * one, keep, extra, view)


def marks(count, size, view):
    """On the plastic, on one photo only: scratches, hairs (thinner than any root), dribbles, strokes of a pen. extra: strength
    (0..1), tone."""
    b, n, steps = count, 7, 130
    keep_share = chance(0.4, b, 1) * uniform(0, 1, b, 1)
    dribble = torch.rand(b, n, device=DEVICE) < 0.25
    heading = torch.where(dribble, math.pi / 2 + 0.06 * torch.randn(b, n, device=DEVICE), uniform(0, 2 * math.pi, b, n))
    px, py, _, keep = _walk(uniform(0, 1, b, n) * size, uniform(-0.2, 1, b, n) * size, heading, log_uniform(15, 380, b, n),
                            log_uniform(0.01, 0.5, b, n), steps)
    keep = keep & (torch.rand(b, n, device=DEVICE) < keep_share).unsqueeze(-1)
    pen = chance(0.15, b, 1).bool().expand(b, n)
    r = torch.where(pen, log_uniform(1.5, 7, b, 1), torch.where(dribble, log_uniform(3, 9, b, n), log_uniform(0.15, 0.4, b, n)))
    strength = torch.where(pen, uniform(0.6, 1, b, 1), torch.where(dribble, uniform(0.03, 0.2, b, n), uniform(0.05, 0.4, b, n)))
    one = torch.ones(b, n, steps, device=DEVICE)
    tone = torch.where((torch.rand(b, n, device=DEVICE) < 0.75) & ~pen, uniform(0.7, 1.0, b, n), uniform(0, 0.3, b, n))
    return _curves(px, py, r.unsqueeze(-1) * one, keep,
                   {"strength": strength.unsqueeze(-1) * one, "tone": tone.unsqueeze(-1) * one}, view)
